"""The planner: which coming night is right for cold-smoking, and what to do, and when, to be ready for it."""
