"""``python -m cli`` runs the commands."""

from cli.app import main

main()
