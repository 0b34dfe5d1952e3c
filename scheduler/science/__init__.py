"""Published physics and tables as pure functions."""
