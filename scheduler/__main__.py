"""`python -m scheduler` is the command line too."""

from scheduler.faces.cli import main

main()
