"""The flight of a ball: forces, trajectories, sensitivities, run after landing."""
