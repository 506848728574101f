"""Drawn shots and models as other programs take them."""
