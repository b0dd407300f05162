#!/usr/bin/env python3
"""Makes the files of this folder anew: python3 make.py (Python 3, the packages below).

Every picture is `scene`, a pattern of our own; no one's photograph is in here.
Made with Pillow 13.0 (libjpeg-turbo, libwebp, libavif inside), pillow-heif 1.8 (libheif 1.23,
x265 4.3 to encode, libde265 1.1 to decode), tifffile 2026.3, numpy 2.4, and for AVIF avifenc and
avifdec of libavif 0.11 (libaom 3.6 to encode and, for the references, to decode), imagecodecs 2026.3
to read 16 bit PNG.
The files ending in `.ref.png` are what those decoders, independent of ours, make of the file
before them.
"""
import io, os, struct, subprocess, tempfile, zlib
import numpy as np
from PIL import Image, ImageCms
import imagecodecs, pillow_heif, tifffile

pillow_heif.register_heif_opener()
W, H = 96, 64


def scene(w=W, h=H, top=255):
    """Gradients with a bright square and a dark disc: red to the right, green down, blue up."""
    x, y = np.meshgrid(np.arange(w), np.arange(h))
    r = x / (w - 1)
    g = y / (h - 1)
    b = 1 - (x + y) / (w + h - 2)
    a = np.stack([r, g, b], -1) * 0.8 + 0.1
    a[8:24, 8:24] = [0.95, 0.9, 0.85]
    a[(x - 64) ** 2 + (y - 40) ** 2 < 144] = [0.1, 0.15, 0.3]
    return np.round(a * top).astype(np.uint16 if top > 255 else np.uint8)


RGB = scene()
IMAGE = Image.fromarray(RGB)
ALPHA = np.round(np.tile(np.linspace(0, 255, W), (H, 1))).astype(np.uint8)


def put(name, data):
    open(name, "wb").write(data)


def save(name, image=IMAGE, **options):
    out = io.BytesIO()
    image.save(out, **options)
    put(name, out.getvalue())
    return out.getvalue()


def png(chunks, rows, w, h, depth, kind, interlace=0):
    """A PNG by hand: (name, bytes) chunks before the picture, filter 0 in every row."""
    def chunk(n, d):
        return struct.pack(">I", len(d)) + n + d + struct.pack(">I", zlib.crc32(n + d))
    head = struct.pack(">IIBBBBB", w, h, depth, kind, 0, 0, interlace)
    body = zlib.compress(b"".join(b"\0" + r for r in rows), 9)
    parts = [chunk(b"IHDR", head)] + [chunk(n, d) for n, d in chunks]
    return b"\x89PNG\r\n\x1a\n" + b"".join(parts) + chunk(b"IDAT", body) + chunk(b"IEND", b"")


def rgb_rows(a):
    return [r.tobytes() for r in a]


# ---- colour profiles: lut-based ones made by hand, in the layout of ICC.1 (lut16Type, mft2)
def icc(space, tags, pcs=b"Lab ", version=0x02400000, cls=b"prtr"):
    table, data, at = b"", b"", 128 + 4 + 12 * len(tags)
    for sig, body in tags:
        body += b"\0" * (-len(body) % 4)
        table += sig + struct.pack(">II", at, len(body))
        data += body
        at += len(body)
    size = 128 + 4 + len(table) + len(data)
    head = struct.pack(">I4sI4s4s4s6H4s4sIIIQI3I4s", size, b"\0" * 4, version, cls, space, pcs,
                       2026, 1, 1, 0, 0, 0, b"acsp", b"\0" * 4, 0, 0, 0, 0, 1,
                       0xF6D6, 0x10000, 0xD32D, b"\0" * 4)
    head += b"\0" * (128 - len(head))
    return head + struct.pack(">I", len(tags)) + table + data


def text_tags(name):
    desc = b"desc\0\0\0\0" + struct.pack(">I", len(name) + 1) + name.encode() + b"\0" + b"\0" * 78
    white = b"XYZ \0\0\0\0" + struct.pack(">iii", 0xF6D6, 0x10000, 0xD32D)
    return [(b"desc", desc), (b"wtpt", white), (b"cprt", b"text\0\0\0\0CC0\0")]


def mft2(channels, grid, f):
    """A2B table of f(inputs 0..1) -> Lab, encoded as ICC.1 v2 does for lut16Type."""
    axes = np.meshgrid(*[np.linspace(0, 1, grid)] * channels, indexing="ij")
    lab = np.stack(f(*axes), -1).reshape(-1, 3)
    code = np.empty_like(lab)
    code[:, 0] = lab[:, 0] * 652.8
    code[:, 1:] = (lab[:, 1:] + 128) * 256
    clut = np.clip(np.round(code), 0, 65535).astype(">u2").tobytes()
    line = struct.pack(">HH", 0, 65535)
    unit = struct.pack(">9i", 0x10000, 0, 0, 0, 0x10000, 0, 0, 0, 0x10000)
    return (b"mft2\0\0\0\0" + bytes([channels, 3, grid, 0]) + unit + struct.pack(">HH", 2, 2)
            + line * channels + clut + line * 3)


def xyz_to_lab(x, y, z):
    n = (0.9642, 1.0, 0.8249)
    f = [np.where(v / w > 216 / 24389, np.cbrt(v / w), (24389 / 27 * v / w + 16) / 116)
         for v, w in zip((x, y, z), n)]
    return 116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2])


def rgb_lab(r, g, b):
    """A made-up RGB device: exponent 2, sRGB-like primaries under D50, a lifted black."""
    r, g, b = (0.01 + 0.99 * v ** 2 for v in (r, g, b))
    return xyz_to_lab(0.436 * r + 0.385 * g + 0.143 * b, 0.222 * r + 0.717 * g + 0.061 * b,
                      0.014 * r + 0.097 * g + 0.714 * b)


def cmyk_lab(c, m, y, k):
    """A made-up press: each ink takes away most of one light; black leaves a little."""
    r, g, b = (1 - 0.9 * v for v in (c, m, y))
    left = 1 - 0.97 * k
    return rgb_lab(*(np.sqrt(np.clip(v * left, 0, 1)) for v in (r, g, b)))


RGB_LUT = icc(b"RGB ", text_tags("our table RGB") + [(b"A2B0", mft2(3, 9, rgb_lab))], cls=b"scnr")
CMYK_LUT = icc(b"CMYK", text_tags("our press") + [(b"A2B0", mft2(4, 7, cmyk_lab))])
GREY_CURVE = icc(b"GRAY", text_tags("grey 1.8") + [(b"kTRC", b"curv\0\0\0\0" + struct.pack(">IH", 1, 461))],
                 pcs=b"XYZ ", cls=b"mntr")
put("rgb-table.icc", RGB_LUT)
put("cmyk-table.icc", CMYK_LUT)
put("grey-curve.icc", GREY_CURVE)

# ---- JPEG
save("restart.jpg", format="JPEG", quality=90, restart_marker_blocks=3)
save("restart-progressive.jpg", format="JPEG", quality=90, restart_marker_rows=1, progressive=True)
save("rgb.jpg", format="JPEG", quality=95, keep_rgb=True)
grey = Image.fromarray(RGB[:, :, 1])
save("grey.jpg", grey, format="JPEG", quality=95)
save("grey-profile.jpg", grey, format="JPEG", quality=95, icc_profile=GREY_CURVE)
cmyk = np.dstack([255 - RGB, np.full((H, W), 40, np.uint8)])
ink = Image.fromarray(cmyk, "CMYK")
save("cmyk.jpg", ink, format="JPEG", quality=95)
save("cmyk-profile.jpg", ink, format="JPEG", quality=95, icc_profile=CMYK_LUT)
save("table-profile.jpg", format="JPEG", quality=95, icc_profile=RGB_LUT)

# ---- PNG
save("rgb.png", format="PNG")
save("rgba.png", Image.fromarray(np.dstack([RGB, ALPHA])), format="PNG")
save("grey.png", grey, format="PNG")
save("grey-alpha.png", Image.merge("LA", [grey, Image.fromarray(ALPHA)]), format="PNG")
palette = IMAGE.quantize(16)
save("palette.png", palette, format="PNG", bits=4)
save("palette.ref.png", palette.convert("RGB"), format="PNG")
save("palette-clear.png", palette, format="PNG", bits=4, transparency=0)
wide = scene(top=65535)
put("rgb-16.png", png([], rgb_rows(wide.astype(">u2")), W, H, 16, 2))
put("grey-16.png", png([], rgb_rows(wide[:, :, 1].astype(">u2")), W, H, 16, 0))


def adam7(a):
    rows = []
    for x0, y0, dx, dy in [(0, 0, 8, 8), (4, 0, 8, 8), (0, 4, 4, 8), (2, 0, 4, 4), (0, 2, 2, 4),
                           (1, 0, 2, 2), (0, 1, 1, 2)]:
        rows += rgb_rows(np.ascontiguousarray(a[y0::dy, x0::dx]))
    return rows


put("interlaced.png", png([], adam7(RGB), W, H, 8, 2, 1))
small = scene(24, 16)
rows = rgb_rows(small)
P3 = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
GAMA = (b"gAMA", struct.pack(">I", 55556))          # exponent 1.8
CHRM = (b"cHRM", struct.pack(">8I", 31270, 32900, 68000, 32000, 26500, 69000, 15000, 6000))
SRGB = (b"sRGB", b"\0")
ICCP = (b"iCCP", b"t\0\0" + zlib.compress(RGB_LUT))
CICP_P3 = (b"cICP", bytes([12, 13, 0, 1]))
for name, chunks in {
    "gama": [GAMA], "gama-chrm": [GAMA, CHRM], "srgb-over-gama": [SRGB, GAMA, CHRM],
    "iccp-over-gama": [ICCP, GAMA, CHRM], "cicp-over-iccp": [CICP_P3, ICCP],
    "cicp-hdr": [(b"cICP", bytes([9, 16, 0, 1]))],
    "gama-of-srgb": [(b"gAMA", struct.pack(">I", 45455))],
}.items():
    put(f"chunk-{name}.png", png(chunks, rows, 24, 16, 8, 2))
save("animated.png", format="PNG", save_all=True, append_images=[IMAGE.rotate(180)], duration=100)

# ---- WebP
save("lossless.webp", format="WEBP", lossless=True)
save("lossless-alpha.webp", Image.fromarray(np.dstack([RGB, ALPHA])), format="WEBP", lossless=True, exact=True)
save("lossy.webp", format="WEBP", quality=90)
save("lossy.webp.ref.png", Image.open("lossy.webp").convert("RGB"), format="PNG")
save("profile.webp", format="WEBP", lossless=True, icc_profile=RGB_LUT)
turned = Image.Exif()
turned[0x0112] = 6
save("turned.webp", format="WEBP", lossless=True, exif=turned)
save("animated.webp", format="WEBP", save_all=True, append_images=[IMAGE.rotate(180)], duration=100)


# ---- TIFF
def tif(name, data, **options):
    tifffile.imwrite(name, data, metadata=None, software="", **options)


tif("rgb.tif", RGB, photometric="rgb")
tif("rgb-big-endian.tif", RGB, photometric="rgb", byteorder=">")
tif("rgb-16-deflate.tif", wide, photometric="rgb", compression="zlib", predictor=True)
tif("rgb-16-big-endian.tif", wide, photometric="rgb", byteorder=">")
tif("lzw.tif", RGB, photometric="rgb", compression="lzw", predictor=True, rowsperstrip=16)
tif("packbits.tif", RGB, photometric="rgb", compression="packbits")
tif("tiled.tif", RGB, photometric="rgb", tile=(32, 32), compression="zlib")
tif("planar.tif", np.moveaxis(RGB, -1, 0), photometric="rgb", planarconfig="separate")
tif("grey.tif", RGB[:, :, 1], photometric="minisblack")
tif("grey-white-is-zero.tif", 255 - RGB[:, :, 1], photometric="miniswhite")
tif("rgba.tif", np.dstack([RGB, ALPHA]), photometric="rgb", extrasamples=["unassalpha"])
associated = np.round(RGB * (ALPHA[:, :, None] / 255.0)).astype(np.uint8)
tif("rgba-associated.tif", np.dstack([associated, ALPHA]), photometric="rgb", extrasamples=["assocalpha"])
tif("cmyk.tif", cmyk, photometric="separated")
tif("cmyk-profile.tif", cmyk, photometric="separated", iccprofile=CMYK_LUT)
tif("profile.tif", RGB, photometric="rgb", iccprofile=RGB_LUT)
tif("turned.tif", RGB, photometric="rgb", extratags=[(274, 3, 1, 6, True)])
tif("float.tif", RGB.astype(np.float32), photometric="rgb", compression="zlib")
with tifffile.TiffWriter("small-page-first.tif") as t:
    t.write(RGB[::4, ::4].copy(), photometric="rgb", subfiletype=1, metadata=None, software="")
    t.write(RGB, photometric="rgb", metadata=None, software="")

# ---- BMP, GIF
save("rgb.bmp", format="BMP")
save("palette.bmp", palette, format="BMP")
save("some.gif", palette, format="GIF")


# ---- HEIC
def heic(name, image=IMAGE, ref=True, **options):
    save(name, image, format="HEIF", quality=options.pop("quality", 90), **options)
    if ref:
        mode = "RGBA" if image.mode == "RGBA" else "RGB"
        save(name + ".ref.png", Image.open(name).convert(mode), format="PNG", optimize=True)


heic("444.heic", chroma=444)
heic("420.heic", chroma=420)
heic("limited-709.heic", chroma=444, matrix_coefficients=1, full_range_flag=0)
heic("alpha.heic", Image.fromarray(np.dstack([RGB, ALPHA])), chroma=444)
heic("grey.heic", grey)
heic("p3.heic", chroma=444, color_primaries=12, transfer_characteristics=13, matrix_coefficients=6)
heic("hdr.heic", ref=False, chroma=444, color_primaries=9, transfer_characteristics=16, matrix_coefficients=9)
heic("profile.heic", chroma=444, icc_profile=RGB_LUT)
ten = pillow_heif.from_bytes(mode="RGB;16", size=(W, H), data=wide.tobytes())
pillow_heif.options.SAVE_HDR_TO_12_BIT = False
ten.save("ten-bit.heic", quality=90, chroma=444)
save("ten-bit.heic.ref.png", Image.open("ten-bit.heic").convert("RGB"), format="PNG", optimize=True)
exif6 = Image.Exif()
exif6[0x0112] = 6
exif6[0x8769] = {0x9003: "2026:03:01 09:30:00", 0x9291: "25"}
heic("exif-turned.heic", chroma=444, exif=exif6.tobytes())


# ---- AVIF
def avif(name, image, *options, ref=True):
    with tempfile.TemporaryDirectory() as at:
        source = [f"{at}/{i}.png" for i, one in enumerate(image if isinstance(image, list) else [image])]
        for path, one in zip(source, image if isinstance(image, list) else [image]):
            if isinstance(one, bytes):
                put(path, one)
            else:
                one.save(path)
        quality = [] if "-l" in options else "--min 8 --max 12 --minalpha 8 --maxalpha 12".split()
        subprocess.run(["avifenc", "-s", "3", "-c", "aom", "--ignore-icc", *quality, *options, *source, name],
                       check=True, capture_output=True)
    if ref:
        # By libavif's exact way, which it takes for 16 bit only (the one for 8 bit is off by up to 10
        # in limited range); halved colour is filled in between.
        subprocess.run(["avifdec", "-c", "aom", "-d", "16", "-u", "bilinear", "--ignore-icc", name, "wide.png"],
                       check=True, capture_output=True)
        exact = imagecodecs.png_decode(open("wide.png", "rb").read())
        os.remove("wide.png")
        save(name + ".ref.png", Image.fromarray(((exact.astype(int) + 128) // 257).astype(np.uint8)), format="PNG",
             optimize=True)


# Lossless, for exact answers; the loss of others is the same for both decoders.
wide_png = png([], rgb_rows(wide.astype(">u2")), W, H, 16, 2)
clear = Image.fromarray(np.dstack([RGB, ALPHA]))
avif("lossless.avif", IMAGE, "-l", ref=False)
avif("444.avif", IMAGE, "-y", "444")
avif("422.avif", IMAGE, "-y", "422")
avif("420.avif", IMAGE, "-y", "420")
avif("grey.avif", grey, "-y", "400")
avif("limited-709.avif", IMAGE, "-y", "444", "--cicp", "1/13/1", "-r", "limited")
avif("p3.avif", IMAGE, "-y", "444", "--cicp", "12/13/6")
avif("derived.avif", IMAGE, "-y", "444", "--cicp", "12/13/12")
avif("ycgco.avif", IMAGE, "-y", "444", "--cicp", "1/13/8")
avif("ten-bit.avif", wide_png, "-y", "444", "-d", "10")
avif("ten-bit-420.avif", wide_png, "-y", "420", "-d", "10")
avif("twelve-bit.avif", wide_png, "-y", "444", "-d", "12")
avif("alpha.avif", clear, "-y", "444")
avif("alpha-multiplied.avif", clear, "-y", "444", "-p")
avif("hdr.avif", wide_png, "-y", "444", "-d", "10", "--cicp", "9/16/9", ref=False)
avif("profile.avif", IMAGE, "-y", "444", "--icc", "rgb-table.icc")
avif("grain.avif", IMAGE, "-y", "420", "-a", "film-grain-test=1")
tiles = Image.fromarray(scene(192, 128))
avif("tiles.avif", tiles, "-y", "420", "-g", "2x2")
avif("cropped.avif", IMAGE, "-y", "444", "--crop", "8,8,40,32", ref=False)
avif("sequence.avif", [IMAGE, IMAGE.rotate(180)], "-y", "420", ref=False)
put("exif.bin", exif6.tobytes()[6:])
avif("exif-turned.avif", IMAGE, "-l", "--exif", "exif.bin", ref=False)
private = Image.Exif()
private[0x0110] = "QZSECRETMODEL"
private[0x8769] = {0xA430: "QZSECRETOWNER", 0xA431: "QZSECRETSERIAL", 0x927C: b"QZSECRETMAKERNOTE"}
private[0x8825] = {1: "N", 2: (47.0, 22.0, 36.8354), 0x1C: b"QZSECRETPLACE"}
put("exif.bin", private.tobytes()[6:])
put("xmp.bin", b"<x:xmpmeta xmlns:x='adobe:ns:meta/'><a b='QZSECRETXMP'/></x:xmpmeta>")
flower = Image.open("../real/flower.jpg").resize((400, 267))
avif("stuffed.avif", flower, "-y", "420", "--min", "20", "--max", "30", "--exif", "exif.bin", "--xmp", "xmp.bin",
     ref=False)
os.remove("exif.bin")
os.remove("xmp.bin")
for turn in range(4):
    for mirror in ([], ["--imir", "0"], ["--imir", "1"]):
        name = f"turn-{turn}{''.join(mirror[1:]) and '-mirror-' + mirror[1]}.avif"
        avif(name, Image.fromarray(scene(24, 16)), "-l", "--irot", str(turn), *mirror, ref=False)
