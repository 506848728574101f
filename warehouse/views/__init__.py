"""Where the views that other tools query are stated, one SQL file each."""
