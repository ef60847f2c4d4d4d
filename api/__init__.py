"""Every way in: use cases, JSON routes, commands."""
