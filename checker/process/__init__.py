"""Which process: YAML profile to `Process`."""
