"""Floor 2: the lake, the database, its SQL, publishing, pages and the SQL server."""
