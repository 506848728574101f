"""Commands that let others ask over the network."""
