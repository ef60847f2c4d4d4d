"""Tax rates and limits by day: one TOML file for each country."""
