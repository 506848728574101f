"""Commands that ask the models about shots to come."""
