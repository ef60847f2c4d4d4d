"""Reading and storing: catalogue files, imports, demo data, database."""
