"""The command line: a thin face over the same calls that any other program could make.

from bodyshop.app.cli import main
main(["check", "samples/kestrel.toml"])    # prints the report, returns the exit code
"""

from bodyshop.app.cli.main import main

__all__ = ["main"]
