"""Photos for the page: shrunk, and written anew so that nothing but the picture goes along (no position, no camera)."""

from __future__ import annotations

import base64
import io
from pathlib import Path

from PIL import Image, ImageOps, UnidentifiedImageError

from tailwise.words import report as words

LONGEST_PIXELS = 1200
QUALITY = 80


class PhotoError(ValueError):
    """A file that is not a readable picture."""


def photo_data_url(path: Path) -> str:
    """The picture as a JPEG data URL, at most 1200 pixels on its longer side; PhotoError where it cannot be read."""
    try:
        with Image.open(path) as opened:
            upright = ImageOps.exif_transpose(opened).convert("RGB")
            upright.thumbnail((LONGEST_PIXELS, LONGEST_PIXELS))
            bare = Image.new("RGB", upright.size)
            bare.paste(upright)
            out = io.BytesIO()
            bare.save(out, "JPEG", quality=QUALITY, optimize=True)
    except (OSError, UnidentifiedImageError, ValueError, Image.DecompressionBombError) as error:
        raise PhotoError(words.NO_PHOTO.format(path=path, error=error)) from error
    return "data:image/jpeg;base64," + base64.b64encode(out.getvalue()).decode("ascii")
