"""Device classes as TOML: reader and the packaged classes."""
