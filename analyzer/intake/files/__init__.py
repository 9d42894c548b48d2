"""What lies in a folder or an archive, and what its bytes say."""
