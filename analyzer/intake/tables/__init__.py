"""Text exports, workbooks and stored tables to raw tables: columns under their headers, and their stamps as moments."""
