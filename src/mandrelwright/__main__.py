"""``python -m mandrelwright``: the command line."""

from mandrelwright.cli import main

main()
