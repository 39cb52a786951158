"""Runs the commands as `python -m buildlog`; they are in `buildlog.cli`."""

from buildlog.cli import main

if __name__ == "__main__":
    main(prog_name="buildlog")
