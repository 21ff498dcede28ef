"""`python -m logger` is `odovox`."""

from logger.cli import main

main()
