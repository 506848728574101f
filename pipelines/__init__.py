"""Floor 3: the order of the steps: reading to publishing, the flow, the watcher, the commands."""
