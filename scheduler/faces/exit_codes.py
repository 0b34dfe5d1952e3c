"""Exit codes that all commands share: 0 answered yes, and these."""

NO = 1
"""Answered no: there is no night."""

WRONG = 2
"""The question or a file is wrong."""

NO_WEATHER = 3
"""No weather is to be had."""

STOPPED = 130
"""Interrupted: what shells say of such a command."""
