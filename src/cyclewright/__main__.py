"""`python -m cyclewright` is the `cyclewright` command."""

from cyclewright.cli.main import main

main()
