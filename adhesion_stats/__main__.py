"""``python -m adhesion_stats``: the command line."""

from adhesion_stats.cli import main

if __name__ == "__main__":
    raise SystemExit(main())
