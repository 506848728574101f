"""The service that stays up: it watches the inbox and loads what comes to rest there."""
