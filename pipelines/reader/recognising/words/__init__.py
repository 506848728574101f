"""What words say: headings, statements, legends, names, conditions."""
