"""Studies: inputs -> run -> result, without a window."""
