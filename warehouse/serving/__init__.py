"""Read-only SQL over the network: a front that guards, and processes that compute."""
