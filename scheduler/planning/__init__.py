"""Which night, what to do and when: pure functions of data and time."""
