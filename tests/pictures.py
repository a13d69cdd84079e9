"""Pictures for tests, drawn on the spot: colours one can check by eye, and files that only pretend to be pictures."""

from __future__ import annotations

import io
import struct
import zlib

from PIL import Image

PLACE = b"48.8584N 2.2945E"
"""Stands for where a camera was."""


def picture(
    width: int = 80, height: int = 40, kind: str = "JPEG", *, turned: bool = False
) -> bytes:
    """Return a picture whose left half is red and whose right half is white, with a place in its notes."""
    image = Image.new("RGB", (width, height), "white")
    image.paste((200, 30, 20), (0, 0, width // 2, height))
    exif = Image.Exif()
    exif[0x010E] = PLACE.decode()
    if turned:
        exif[0x0112] = 6  # to be shown a quarter turn clockwise (EXIF 2.32, tag Orientation)
    told = io.BytesIO()
    image.save(told, kind, exif=exif)
    return told.getvalue()


def claims_to_be(width: int, height: int) -> bytes:
    """Return a PNG of a few bytes that claims to have so many dots (its header is right, its rows are few)."""

    def chunk(name: bytes, body: bytes) -> bytes:
        return (
            struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))
        )

    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n"
        + chunk(b"IHDR", head)
        + chunk(b"IDAT", zlib.compress(b"\0" * 99))
        + chunk(b"IEND", b"")
    )
