"""Where the tables of the database are stated, one SQL file each."""
