"""What is handed over: the PDF record, its signatures, its tables and the checker."""
