"""Bytes in, a reading or a named error out; pure, and driven by a wire format."""

from collector.decode.line import decode_line

__all__ = ["decode_line"]
