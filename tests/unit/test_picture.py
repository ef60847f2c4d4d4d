"""A picture is kept upright, bounded and with nothing of its file but the pixels; what is none is refused."""

from __future__ import annotations

import random
import struct
import zlib
from hashlib import sha256
from io import BytesIO

import numpy as np
import pytest
from PIL import Image, ImageCms, ImageOps
from PIL.PngImagePlugin import PngInfo

from data.importing import picture as module
from data.importing.picture import LONGEST_SIDE, SMALL_SIDE, read_picture
from pricing.errors import BadInput

SECRET = b"SN-44120-X"
MAKER, MODEL, BODY_SERIAL, GPS = 0x010F, 0x0110, 0xA431, 0x8825
ORIENTATION = 0x0112


def bands(width=90, height=60):
    """A picture of which every turn and mirror looks different: another colour in each corner."""
    image = Image.new("RGB", (width, height), "white")
    half = (width // 2, height // 2)
    image.paste("red", (0, 0, *half))
    image.paste("blue", (half[0], 0, width, half[1]))
    image.paste("black", (0, half[1], half[0], height))
    return image


def saved(image, form="JPEG", **options):
    file = BytesIO()
    image.save(file, form, **options)
    return file.getvalue()


def exif_of(orientation=1):
    exif = Image.Exif()
    exif[MAKER], exif[MODEL], exif[ORIENTATION] = "Maker", SECRET.decode(), orientation
    exif.get_ifd(0x8769)[BODY_SERIAL] = SECRET.decode()
    exif.get_ifd(GPS).update({1: "N", 2: (52.0, 31.0, 12.0), 3: "E", 4: (13.0, 24.0, 18.0)})
    return exif


def pixels(content):
    return np.asarray(Image.open(BytesIO(content)).convert("RGB"), dtype=int)


def png_claiming(width, height):
    def chunk(name, data):
        return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))

    head = chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0))
    return b"\x89PNG\r\n\x1a\n" + head + chunk(b"IDAT", zlib.compress(b"\0" * 1000)) + chunk(b"IEND", b"")


JPEG = saved(bands())
NOISE = saved(Image.fromarray(np.random.default_rng(1).integers(0, 255, (80, 120, 3), dtype=np.uint8)))
FRAMES = [bands(), bands().rotate(180)]
BAD = {
    "nothing": (b"", "an empty file"),
    "text": (b"this is no picture", "no picture that can be read"),
    "a page": (b"<!doctype html><img src=x onerror=alert(1)>", "no picture that can be read"),
    "a drawing with a script": (b'<svg xmlns="http://www.w3.org/2000/svg"><script/></svg>', "no picture that can be"),
    "a GIF": (saved(bands(), "GIF"), "no picture that can be read"),
    "a TIFF": (saved(bands(), "TIFF"), "no picture that can be read"),
    "a BMP": (saved(bands(), "BMP"), "no picture that can be read"),
    "a PDF": (b"%PDF-1.7\n1 0 obj\n", "no picture that can be read"),
    "an archive": (b"PK\x03\x04" + bytes(200), "no picture that can be read"),
    "the head of a JPEG alone": (JPEG[:20], "no picture that can be read"),
    "half a JPEG": (NOISE[: len(NOISE) // 2], "a picture that is cut off or damaged"),
    "half a PNG": (saved(bands(), "PNG")[:180], "a picture that is cut off or damaged"),
    "half a WebP": (saved(bands(), "WEBP", lossless=True)[:60], "picture that"),
    "a PNG that moves": (saved(FRAMES[0], "PNG", save_all=True, append_images=FRAMES[1:]), "a picture that moves"),
    "a WebP that moves": (saved(FRAMES[0], "WEBP", save_all=True, append_images=FRAMES[1:]), "a picture that moves"),
    "a small file of 2.5 gigapixels": (png_claiming(50_000, 50_000), "50,000 × 50,000 pixels"),
    "one row more than 100 megapixels": (png_claiming(10_000, 10_001), "10,000 × 10,001 pixels"),
    "fewer pixels in the file than it claims": (png_claiming(900, 900), "a picture that is cut off or damaged"),
}  # fmt: skip


@pytest.mark.parametrize("what", BAD)
def test_what_is_no_picture_is_refused_with_what_was_found_and_expected(what):
    content, found = BAD[what]
    with pytest.raises(BadInput) as refused:
        read_picture(content, "front.jpg")
    (problem,) = refused.value.problems
    assert problem.source == "front.jpg"
    assert found in problem.found
    assert str(refused.value).startswith("front.jpg: found ")
    assert problem.expected


def test_a_file_beyond_the_limit_is_not_even_opened(monkeypatch):
    monkeypatch.setattr(module, "MOST_BYTES", 100)
    monkeypatch.setattr(module.Image, "open", None)
    with pytest.raises(BadInput, match="at most 100 bytes"):
        read_picture(JPEG, "front.jpg")


@pytest.mark.parametrize("form", ["JPEG", "PNG", "WEBP"])
def test_each_form_is_taken_and_looks_the_same_as_jpeg(form):
    options = {} if form == "PNG" else {"quality": 95}
    kept = read_picture(saved(bands(), form, **options), "a")
    assert Image.open(BytesIO(kept.content)).format == "JPEG"
    assert (kept.width, kept.height) == (90, 60)
    assert np.abs(pixels(kept.content) - np.asarray(bands(), dtype=int)).mean() < 3


@pytest.mark.parametrize("form", ["JPEG", "PNG", "WEBP"])
@pytest.mark.parametrize("orientation", range(1, 9))
def test_every_orientation_is_turned_as_the_reference_turns_it(orientation, form):
    content = saved(bands(), form, exif=exif_of(orientation), **({} if form == "PNG" else {"quality": 95}))
    kept = pixels(read_picture(content, "a").content)
    expected = np.asarray(ImageOps.exif_transpose(Image.open(BytesIO(content))).convert("RGB"), dtype=int)
    assert kept.shape == expected.shape
    assert np.abs(kept - expected).mean() < 3


# What the standard says of each value (JEITA CP-3451, tag 274): where the first row and column are seen.
TURNS = {
    1: lambda seen: seen,
    2: lambda seen: seen[:, ::-1],
    3: lambda seen: seen[::-1, ::-1],
    4: lambda seen: seen[::-1],
    5: lambda seen: seen.transpose(1, 0, 2),
    6: lambda seen: seen.transpose(1, 0, 2)[:, ::-1],
    7: lambda seen: seen.transpose(1, 0, 2)[::-1, ::-1],
    8: lambda seen: seen.transpose(1, 0, 2)[::-1],
}


@pytest.mark.parametrize("orientation", TURNS)
def test_every_orientation_is_turned_as_the_standard_says(orientation):
    kept = pixels(read_picture(saved(bands(), exif=exif_of(orientation), quality=95), "a").content)
    expected = TURNS[orientation](np.asarray(bands(), dtype=int))
    assert kept.shape == expected.shape
    assert np.abs(kept - expected).mean() < 3


@pytest.mark.parametrize("orientation", [0, 9, 65_535])
def test_an_orientation_that_there_is_not_turns_nothing(orientation):
    kept = read_picture(saved(bands(), exif=exif_of(orientation)), "a")
    assert (kept.width, kept.height) == (90, 60)


def test_damaged_exif_turns_nothing_and_the_picture_is_kept():
    content = saved(bands(), exif=b"Exif\0\0MM\0\x2a\0\0\0\x08\xff\xff" + SECRET)
    kept = read_picture(content, "a")
    assert (kept.width, kept.height) == (90, 60)
    assert SECRET not in kept.content


def segments(content):
    """Return the markers of a JPEG up to its pixels."""
    place, found = 2, []
    while content[place + 1] != 0xDA:
        found.append(content[place + 1])
        place += 2 + struct.unpack(">H", content[place + 2 : place + 4])[0]
    return found


def with_metadata(form):
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    xmp = b'<x:xmpmeta xmlns:x="adobe:ns:meta/"><serial>' + SECRET + b"</serial></x:xmpmeta>"
    options = {"exif": exif_of(), "icc_profile": profile}
    if form == "PNG":
        text = PngInfo()
        text.add_text("Comment", SECRET.decode())
        text.add_itxt("XML:com.adobe.xmp", xmp.decode())
        return saved(bands(), form, pnginfo=text, **options)
    if form == "WEBP":
        return saved(bands(), form, xmp=xmp, **options)
    iptc = b"Photoshop 3.0\x008BIM\x04\x04\0\0\0\0\0\x0f\x1c\x02\x78\0\x0a" + SECRET + b"\0"
    extra = b"\xff\xed" + struct.pack(">H", len(iptc) + 2) + iptc
    whole = saved(bands(), form, comment=SECRET, xmp=xmp, **options)
    return whole[:2] + extra + whole[2:] + b"behind the end " + SECRET


@pytest.mark.parametrize("form", ["JPEG", "PNG", "WEBP"])
def test_place_serials_and_comments_are_gone(form):
    content = with_metadata(form)
    assert SECRET in content
    assert Image.open(BytesIO(content)).getexif().get_ifd(GPS)
    kept = read_picture(content, "a")
    for left in (kept.content, kept.small):
        image = Image.open(BytesIO(left))
        assert not image.getexif()
        assert set(image.info) <= {"jfif", "jfif_version", "jfif_unit", "jfif_density", "dpi"}
        # JFIF's own head, tables and frames: no APP1 to APP15, no comment.
        assert set(segments(left)) <= {0xE0, 0xDB, 0xC0, 0xC4}
        assert SECRET not in left


def test_the_second_picture_that_phones_put_behind_the_first_is_dropped():
    file = BytesIO()
    bands().save(file, "MPO", save_all=True, append_images=[Image.new("RGB", (30, 20), "green")])
    kept = read_picture(file.getvalue(), "a")
    assert (kept.width, kept.height) == (90, 60)
    assert kept.content.count(b"\xff\xd8\xff") == 1


@pytest.mark.parametrize(
    ("size", "kept_size"),
    [((4_800, 1_200), (2_400, 600)), ((1_200, 4_800), (600, 2_400)), ((2_400, 10), (2_400, 10)), ((90, 60), (90, 60))],
)
def test_the_longer_side_is_bounded_and_no_picture_grows(size, kept_size):
    kept = read_picture(saved(bands(*size)), "a")
    assert (kept.width, kept.height) == kept_size == Image.open(BytesIO(kept.content)).size
    assert max(Image.open(BytesIO(kept.small)).size) == min(SMALL_SIDE, max(kept_size))
    assert max(kept_size) <= LONGEST_SIDE


def test_the_digest_is_that_of_the_kept_bytes_and_the_same_each_time():
    one, two = (read_picture(with_metadata("JPEG"), name) for name in ("a", "b"))
    assert one == two
    assert one.digest == sha256(one.content).hexdigest()
    assert read_picture(NOISE, "a").digest != one.digest


def test_what_can_be_seen_through_stands_on_white():
    clear = Image.new("RGBA", (40, 40), (255, 0, 0, 0))
    for form in ("PNG", "WEBP"):
        assert pixels(read_picture(saved(clear, form), "a").content).min() > 250
    few = Image.new("P", (40, 40), 0)
    few.putpalette([255, 0, 0] + [0, 0, 0] * 255)
    assert pixels(read_picture(saved(few, "PNG", transparency=0), "a").content).min() > 250


def test_colours_of_another_space_become_those_of_srgb():
    ours = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    # In this space the first number of a pixel is green and the second is red.
    swapped = ours.replace(b"rXYZ", b"xxxx").replace(b"gXYZ", b"rXYZ").replace(b"xxxx", b"gXYZ")
    green = Image.new("RGB", (40, 40), (200, 40, 60))
    for profile, colour in ((swapped, (40, 200, 60)), (ours, (200, 40, 60)), (b"no profile", (200, 40, 60))):
        kept = pixels(read_picture(saved(green, icc_profile=profile), "a").content)
        assert np.abs(kept - colour).max() <= 4, colour


@pytest.mark.parametrize("mode", ["1", "L", "LA", "P", "CMYK", "I;16"])
def test_every_mode_is_taken(mode):
    grey = np.full((40, 60), 40_000, dtype=np.uint16)
    image = Image.fromarray(grey) if mode == "I;16" else bands().convert(mode)
    kept = read_picture(saved(image, "JPEG" if mode == "CMYK" else "PNG"), "a")
    assert Image.open(BytesIO(kept.content)).mode == "RGB"
    if mode == "I;16":
        assert np.abs(pixels(kept.content) - 40_000 // 256).max() <= 2


@pytest.mark.parametrize("form", ["JPEG", "PNG", "WEBP"])
def test_damaged_bytes_are_read_or_refused_and_nothing_else(form):
    chance = random.Random(7)
    whole = with_metadata(form)
    for _ in range(150):
        bent = bytearray(whole)
        for _ in range(chance.choice((1, 5, 40))):
            bent[chance.randrange(len(bent))] = chance.randrange(256)
        try:
            kept = read_picture(bytes(bent[: chance.choice((len(bent), chance.randrange(1, len(bent))))]), "a")
        except BadInput:
            continue
        assert SECRET not in kept.content
