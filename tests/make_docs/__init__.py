"""Makes the documents that follow from the code: the rule book's pages, their charts and the site file's keys."""
