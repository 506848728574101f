"""Which column is what, in which unit and sign, and from which evidence."""
