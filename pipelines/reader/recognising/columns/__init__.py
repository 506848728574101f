"""What each column is, in which unit and with which side positive."""
