"""The air that a ball meets: its density, its conditions, its wind by height."""
