"""The coach's pages in a browser: who may in, which address shows what, and what is done there."""
