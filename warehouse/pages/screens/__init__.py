"""Screens of the coach's pages: rows of the views as tables and drawings, one module a screen."""
