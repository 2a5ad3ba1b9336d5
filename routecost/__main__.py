"""`python -m routecost` is the command too."""

from __future__ import annotations

import sys

from routecost.cli import main

sys.exit(main())
