"""What a coach asks of fitted clubs: gaps, wedges, shape, comparisons, putts."""
