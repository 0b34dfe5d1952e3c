"""The append-only record of what was decided, done and weighed, and what it teaches."""
