"""What all addresses share: the home and its publications, and work done in processes."""
