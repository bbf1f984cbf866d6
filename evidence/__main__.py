"""`python -m evidence`."""

from evidence.cli import main

main()
