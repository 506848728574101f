"""Pages made from the database: the card, the report, the overview; plots as inline SVG."""
