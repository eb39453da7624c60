"""Files to `Board`: the only place that knows file formats."""
