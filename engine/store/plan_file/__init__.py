"""Plan files: from TOML text to a checked plan, or to every fault at once."""
