"""`python -m pipeline.cli` is `mendstat`."""

import sys

from pipeline.cli import main

sys.exit(main())
