"""Makes `python -m guide` the same as `chargewright`."""

from guide.cli import main

if __name__ == "__main__":
    main()
