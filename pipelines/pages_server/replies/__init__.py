"""What the pages answer: screens as page, JSON or CSV, and sentences of what is wrong."""
