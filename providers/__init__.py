"""Weather: where a forecast comes from, and the one shape that every source is put into."""
