"""Pictures as a bench takes them, for the tests of photos."""

from __future__ import annotations

from io import BytesIO

from PIL import Image

SECRET = "SN-44120-X"
_MODEL, _GPS = 0x0110, 0x8825


def jpeg(colour: str = "red", width: int = 60, height: int = 40) -> bytes:
    """Return a JPEG that says where, and with which camera, it was taken."""
    exif = Image.Exif()
    exif[_MODEL] = SECRET
    exif.get_ifd(_GPS).update({1: "N", 2: (52.0, 31.0, 12.0)})
    file = BytesIO()
    Image.new("RGB", (width, height), colour).save(file, "JPEG", exif=exif)
    return file.getvalue()
