"""The reader: bytes of one export in; shots, rejected rows and remarks out."""
