"""A picture of a user made fit to be shown: turned upright, of bounded size, and with nothing in it but what is seen.

A camera writes into a file where and when it was taken, its own serial number, and often a second small picture. None
of that is kept: only the pixels are, as a new JPEG in sRGB. The digest of that JPEG is the picture's name.
"""

from __future__ import annotations

import struct
import warnings
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from hashlib import sha256
from io import BytesIO
from threading import Lock

from PIL import Image, ImageCms, ImageOps
from PIL.PngImagePlugin import PngImageFile
from PIL.WebPImagePlugin import WebPImageFile

from pricing.errors import BadInput, Problem

MOST_BYTES = 40_000_000
MOST_PIXELS = 100_000_000
LONGEST_SIDE = 2_400
SMALL_SIDE = 480

_FORMATS = ("JPEG", "PNG", "WEBP")
_QUALITY, _SMALL_QUALITY = 90, 75
_WANTED = "a picture as JPEG, PNG or WebP"
_SRGB = ImageCms.createProfile("sRGB")
# What a decoder raises on bytes that are not what they pretend to be.
_BROKEN = (
    OSError, SyntaxError, ValueError, EOFError, struct.error, zlib.error, IndexError, KeyError, TypeError,
    OverflowError, ZeroDivisionError, AttributeError, NotImplementedError,
)  # fmt: skip

# One picture at a time: a hundred megapixels take 300 MB. Filters of warnings, too, are shared by all threads.
_ONE_AT_A_TIME = Lock()

# The library only warns where pixels are many, and refuses at twice as many; our own limit holds from the first one on.
Image.MAX_IMAGE_PIXELS = None


@dataclass(frozen=True)
class Picture:
    """A picture as it is kept.

    Attributes:
        content: The JPEG.
        small: The same at most 480 pixels long, to stand in a page.
        width, height: Of ``content``, in pixels.
        digest: SHA-256 of ``content``.
    """

    content: bytes
    small: bytes
    width: int
    height: int
    digest: str


def read_picture(content: bytes, source: str) -> Picture:
    """Return the picture in a file, made fit; ``source`` names it in messages.

    Raises:
        BadInput: It is no JPEG, PNG or WebP, is cut off or damaged, moves, or is beyond 40 MB or 100 megapixels.
    """
    if len(content) > MOST_BYTES:
        raise _refused(source, f"{len(content):,} bytes", f"at most {MOST_BYTES:,} bytes")
    if not content:
        raise _refused(source, "an empty file", _WANTED)
    with _ONE_AT_A_TIME, warnings.catch_warnings():
        # What is wrong with the words beside a picture is nobody's concern: they are dropped.
        warnings.simplefilter("ignore")
        return _fit(content, source)


def _fit(content: bytes, source: str) -> Picture:
    with _opened(content, source) as image:
        _refuse_too_large_or_moving(image, source)
        try:
            image.draft(None, (LONGEST_SIDE, LONGEST_SIDE))
            image.load()
        except _BROKEN as error:
            raise _refused(source, "a picture that is cut off or damaged", f"{_WANTED}, whole") from error
        plain = _plain(image)
    whole, small = _saved(plain, _QUALITY), _saved(_bounded(plain.copy(), SMALL_SIDE), _SMALL_QUALITY)
    return Picture(whole, small, plain.width, plain.height, sha256(whole).hexdigest())


@contextmanager
def _opened(content: bytes, source: str) -> Iterator[Image.Image]:
    try:
        image = Image.open(BytesIO(content), formats=_FORMATS)
    except _BROKEN as error:
        raise _refused(source, "no picture that can be read", _WANTED) from error
    with image:
        yield image


def _refuse_too_large_or_moving(image: Image.Image, source: str) -> None:
    # What is not decoded yet costs nothing: a small file can claim to be a picture of any size.
    width, height = image.size
    if width * height > MOST_PIXELS:
        raise _refused(source, f"{width:,} × {height:,} pixels", f"at most {MOST_PIXELS:,} pixels")
    # Phones put a second, small picture behind a JPEG; that one does not move, and is dropped.
    if isinstance(image, PngImageFile | WebPImageFile) and getattr(image, "n_frames", 1) > 1:
        raise _refused(source, "a picture that moves", "one that stands still")


def _plain(image: Image.Image) -> Image.Image:
    """Return the upright picture in sRGB on white, bounded, with no word from the file left in it."""
    profile = image.info.get("icc_profile")
    upright = _turned(_bounded(_of_eight_bits(image), LONGEST_SIDE))
    colours = _in_srgb(_on_white(upright), profile)
    # A new picture with the same pixels: what the file said of itself is not carried over, known to us or not.
    return Image.frombytes("RGB", colours.size, colours.tobytes())


def _of_eight_bits(image: Image.Image) -> Image.Image:
    """Return the picture in a mode that can be made smaller without steps."""
    if image.mode.startswith("I"):
        return image.convert("I").point(lambda value: value / 256).convert("L")
    if image.mode in ("L", "RGB", "RGBA", "CMYK"):
        return image
    return image.convert("RGBA" if image.has_transparency_data else "RGB")


def _bounded(image: Image.Image, longest: int) -> Image.Image:
    image.thumbnail((longest, longest), Image.Resampling.LANCZOS)
    return image


def _turned(image: Image.Image) -> Image.Image:
    """Return the picture as it was seen, by the orientation in its EXIF or XMP."""
    try:
        return ImageOps.exif_transpose(image)
    except _BROKEN:
        # What cannot be read there turns nothing, and the picture itself is whole.
        return image


def _on_white(image: Image.Image) -> Image.Image:
    if image.mode != "RGBA":
        return image
    ground = Image.new("RGBA", image.size, "white")
    return Image.alpha_composite(ground, image).convert("RGB")


def _in_srgb(image: Image.Image, profile: object) -> Image.Image:
    if isinstance(profile, bytes) and profile:
        try:
            theirs = ImageCms.ImageCmsProfile(BytesIO(profile))
            changed = ImageCms.profileToProfile(image, theirs, _SRGB, outputMode="RGB")
        except (ImageCms.PyCMSError, *_BROKEN):
            # A damaged profile, or one for other colours than these: shown as if there were none.
            changed = None
        if changed is not None:
            return changed
    return image.convert("RGB")


def _saved(image: Image.Image, quality: int) -> bytes:
    file = BytesIO()
    image.save(file, "JPEG", quality=quality, subsampling=0 if quality == _QUALITY else 2, optimize=True)
    return file.getvalue()


def _refused(source: str, found: str, expected: str) -> BadInput:
    problem = Problem(source, None, None, found, expected)
    return BadInput(str(problem), (problem,))
