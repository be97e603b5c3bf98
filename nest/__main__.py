"""``python -m nest``: the same as the command ``nest``."""

from nest.cli import main

if __name__ == "__main__":
    main()
