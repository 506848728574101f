"""Bringing homes of older layouts up."""
