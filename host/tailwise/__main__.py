"""`python -m tailwise`."""

import sys

from tailwise.cli.main import main

sys.exit(main())
