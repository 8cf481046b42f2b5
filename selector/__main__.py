"""`python -m selector` is the command `meltwise`."""

from selector.cli import main

if __name__ == "__main__":
    main()
