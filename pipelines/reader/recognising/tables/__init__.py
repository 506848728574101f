"""One table to canonical shots: values, certainty, remarks, proposals."""
