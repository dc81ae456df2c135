"""The command `witnessmark`: reads the command line, runs one command, turns our errors into one line and exit 2."""

import io
import sys
from collections.abc import Sequence
from importlib import import_module

from collector.cli.parser import parser
from schemas.errors import AuditError


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command; gives 0 clean, 1 findings, 2 could not do it."""
    for stream in (sys.stdout, sys.stderr):
        # A sign that the terminal cannot show is written out, not a reason to fail.
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="backslashreplace")
    chosen = parser().parse_args(arguments)
    module, _, function = chosen.run.partition(":")
    try:
        # A command's own imports are slow; they are made only for the command that is run.
        return int(getattr(import_module(f"collector.cli.{module}"), function)(chosen))
    except AuditError as error:
        print(f"witnessmark: {error}", file=sys.stderr)  # noqa: T201
        return 2
    except KeyboardInterrupt:
        print("witnessmark: stopped; what was shown as recorded is there", file=sys.stderr)  # noqa: T201
        return 2
    except BrokenPipeError:
        sys.stderr.close()
        return 2
    except OSError as error:
        print(f"witnessmark: {error.filename or 'output'}: {error.strerror}; check the place and its space", file=sys.stderr)  # noqa: T201
        return 2


if __name__ == "__main__":
    sys.exit(main())
