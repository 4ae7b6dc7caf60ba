"""``python -m laydown`` is the same as ``laydown``."""

from laydown.cli.main import main

main()
