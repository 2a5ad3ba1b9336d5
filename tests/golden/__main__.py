"""Store the numbers that are computed now: `python -m tests.golden`."""

from __future__ import annotations

import json

from tests.golden.golden_numbers import FILE, KINDS, computed


def main() -> None:
    found = {kind: computed(kind) for kind in KINDS}
    FILE.write_text(json.dumps(found, indent=1) + "\n")
    print(f"wrote {FILE}")


if __name__ == "__main__":
    main()
