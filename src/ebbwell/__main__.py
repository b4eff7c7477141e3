"""``python -m ebbwell``: the command line."""

import sys

from ebbwell.cli.main import main

if __name__ == "__main__":
    sys.exit(main())
