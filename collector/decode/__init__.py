"""Bytes in, a reading or a named error out; pure, and driven by a wire format."""

from collector.decode.frame import decode_frame

__all__ = ["decode_frame"]
