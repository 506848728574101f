"""Ball, launch, wind and air of a day made good, and every carry brought to still air."""
