"""Let ``python -m boughwright`` do what the ``boughwright`` command does."""

from boughwright.cli import main

main()
