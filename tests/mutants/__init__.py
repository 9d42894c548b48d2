"""Does a test notice when the code is changed? Single changes to the core, each tried on the tests of its room."""
