"""Who may in: keys, logins, tokens of one player, and what every request passes."""
