"""The channels that come along: one TOML file each."""
