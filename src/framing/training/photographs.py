#!/usr/bin/env python3
"""Measuring sets of photographed things: photographs.py CATEGORIES STAMPS COFFEE GROUNDS ROOMS OUT

CATEGORIES: folder `src/activities/categorization/resource/images` out of Debian's gcompris-qt-data 3.1 (a Qt resource; each picture taken
here is public domain or CC0 by the package's copyright file). STAMPS: `usr/share/tuxpaint/stamps` of tuxpaint-stamps-default, of which
only those are taken that its record calls public domain. COFFEE: coffee.png of scikit-image (CC0). OUT/real gets whole photographs, the
thing outlined by hand or, on white, by its colour; OUT/photographed 100 composites: the things cut out and laid with a shadow on
photographed surfaces (GROUNDS: grounds.py's without the lit reliefs), in half of them with the surface's end and a photographed room
(ROOMS) in view. Nothing of the things is ever trained on; the surfaces are. truth_of_masks.py makes the truth.
"""

import glob, os, sys
import numpy as np
from PIL import Image, ImageDraw, ImageFilter

# Outlines in the photographs' own pixels; None: what is darker or more coloured than the white it lies on.
REAL = {
    'others/bucket': [(35, 120), (44, 76), (76, 32), (120, 21), (164, 32), (202, 69), (215, 114), (230, 116), (230, 136), (217, 145), (217, 253), (208, 284), (164, 303), (88, 303), (44, 284), (32, 259), (23, 164), (23, 141), (25, 120)],
    'others/buffetset': [(98, 98), (115, 93), (200, 93), (219, 98), (215, 132), (240, 138), (263, 152), (257, 172), (225, 195), (178, 208), (130, 208), (88, 195), (60, 172), (53, 153), (64, 141), (106, 137)],
    'tools/multimeter2': [(46, 9), (70, 6), (190, 6), (208, 14), (208, 60), (203, 120), (212, 200), (205, 280), (190, 308), (120, 317), (60, 311), (40, 290), (34, 200), (44, 120), (38, 60), (38, 20)],
    'tools/nailCutter': [(191, 8), (202, 9), (209, 20), (110, 150), (110, 160), (160, 150), (235, 136), (262, 128), (277, 132), (281, 142), (262, 158), (226, 200), (206, 207), (185, 196), (110, 226), (62, 245), (35, 230), (21, 205), (30, 190), (55, 170)],
    'tools/screwDriver': [(20, 37), (36, 34), (90, 56), (150, 88), (166, 108), (170, 122), (302, 196), (303, 204), (293, 207), (160, 138), (146, 145), (125, 134), (60, 106), (30, 82), (16, 56)],
    'tools/screwDriver2': [(160, 22), (176, 14), (190, 20), (196, 32), (193, 62), (168, 124), (132, 168), (126, 184), (110, 190), (52, 306), (43, 302), (100, 182), (98, 166), (118, 124), (134, 74)],
    'tools/sideCutter1': [(262, 32), (284, 34), (288, 46), (236, 66), (164, 96), (126, 104), (118, 128), (134, 148), (164, 166), (240, 180), (286, 194), (288, 206), (276, 213), (206, 206), (134, 180), (88, 150), (68, 136), (28, 139), (26, 130), (54, 116), (26, 106), (26, 96), (68, 98), (98, 94), (94, 80), (130, 70), (202, 44)],
    'tools/wrench1': [(23, 57), (36, 42), (66, 38), (86, 48), (106, 62), (148, 62), (256, 60), (276, 56), (291, 66), (291, 82), (276, 92), (148, 88), (106, 86), (86, 98), (62, 106), (46, 102), (64, 88), (78, 74), (64, 62), (42, 61)],
    'tools/hammer5': None,
    'tools/measuringTape4': None,
    'tools/plier1': None,
    'tools/plier2': None,
    'tools/wrench': [(60, 47), (78, 41), (135, 43), (148, 56), (152, 84), (280, 150), (296, 160), (297, 174), (282, 185), (265, 180), (150, 103), (95, 95), (72, 88), (59, 70)],
    'tools/cuttingTool': None,
}
COFFEE = [(173, 110), (180, 60), (220, 28), (285, 16), (350, 24), (395, 55), (424, 70), (415, 100), (455, 150), (479, 215), (470, 270), (430, 335), (360, 375), (290, 385), (210, 370), (130, 320), (90, 260), (76, 200), (88, 160), (120, 110), (160, 82)]
STAMPS = ['medical/stethoscope', 'seasonal/christmas/Candy_cane_photo_1', 'seasonal/christmas/Candy_cane_photo_2', 'animals/fish/seahorse', 'animals/fish/lobster']
SIZES = [(416, 312), (312, 416), (416, 416), (416, 278)]


def outlined(im, outline):
    """Mask of the thing, 0 or 255."""
    if outline:
        m = Image.new('L', im.size)
        ImageDraw.Draw(m).polygon(outline, fill=255)
        return m
    a = np.asarray(im, np.int16)
    white = np.median(np.concatenate([a[:3].reshape(-1, 3), a[-3:].reshape(-1, 3)]), 0)
    m = Image.fromarray(((np.abs(a - white).max(-1) > 26) * 255).astype(np.uint8))
    for f in (ImageFilter.MaxFilter(5), ImageFilter.MinFilter(5), ImageFilter.MinFilter(3), ImageFilter.MaxFilter(3)):
        m = m.filter(f)
    return m


def things(categories, stamps, coffee):
    """(name, picture, mask, whether the whole photograph can be measured)."""
    for name, outline in REAL.items():
        im = Image.open(f'{categories}/{name}.webp').convert('RGB')
        yield os.path.basename(name), im, outlined(im, outline), True
    im = Image.open(coffee).convert('RGB')
    yield 'coffee', im, outlined(im, COFFEE), True
    for name in STAMPS:
        im = Image.open(f'{stamps}/{name}.png').convert('RGBA')
        yield os.path.basename(name), im.convert('RGB'), im.getchannel('A'), False


def patch(r, im, size):
    """A window of a photographed surface or room of the given size."""
    k = max(size[0] / im.size[0], size[1] / im.size[1]) * r.uniform(1.0, 1.4)
    im = im.resize((int(im.size[0] * k) + 1, int(im.size[1] * k) + 1), Image.BICUBIC)
    x, y = (int(r.integers(0, a - b + 1)) for a, b in zip(im.size, size))
    return np.asarray(im.crop((x, y, x + size[0], y + size[1])), np.float32) / 255


def soft(m, radius, dx=0, dy=0):
    """A mask blurred and moved."""
    im = Image.new('L', m.size)
    im.paste(m, (dx, dy))
    return np.asarray(im.filter(ImageFilter.GaussianBlur(radius)), np.float32)[..., None] / 255


def composite(r, im, mask, ground, room):
    """(picture, mask, mask of the surface or None)."""
    W, H = SIZES[r.integers(len(SIZES))]
    box = mask.point(lambda v: 255 if v > 127 else 0).getbbox()
    im, mask = im.crop(box), mask.crop(box)
    turn = float(r.choice([0, 0, r.uniform(-25, 25), r.uniform(0, 360)]))
    im, mask = im.rotate(turn, Image.BICUBIC, True), mask.rotate(turn, Image.BICUBIC, True)
    k = min(r.uniform(0.28, 0.62) * W / im.size[0], r.uniform(0.28, 0.62) * H / im.size[1])
    size = max(1, round(im.size[0] * k)), max(1, round(im.size[1] * k))
    im, mask = im.resize(size, Image.BICUBIC), mask.resize(size, Image.BICUBIC).filter(ImageFilter.GaussianBlur(0.6))
    x, y = (int(b * m + r.uniform(0, 1) * (b - s - 2 * b * m)) for b, s, m in ((W, size[0], 0.08), (H, size[1], 0.08)))
    full, alpha = Image.new('RGB', (W, H)), Image.new('L', (W, H))
    full.paste(im, (x, y))
    alpha.paste(mask, (x, y))
    out, ok = patch(r, ground, (W, H)) * r.uniform(0.8, 1.1), None
    if room is not None:  # a straight end of the surface on one side, clear of the thing
        yy, xx = np.mgrid[0:H, 0:W]
        slope = r.uniform(-0.12, 0.12)
        gap = r.uniform(0.2, 0.8)
        d = [yy + slope * (xx - W / 2) - y * gap, (x * gap) - xx + slope * (yy - H / 2), xx + slope * (yy - H / 2) - (x + size[0] + (W - x - size[0]) * (1 - gap))]
        side = int(r.integers(3))
        d = -d[0] if side == 0 else d[side]
        clear = np.asarray(alpha.filter(ImageFilter.MaxFilter(9))) > 0
        beyond = (d > 0) & ~clear
        if 0.02 < beyond.mean() < 0.6 and not ((d > 0) & clear).any():
            far = patch(r, room.filter(ImageFilter.GaussianBlur(r.uniform(0, 2.5))), (W, H)) * r.uniform(0.6, 1.1)
            out[beyond] = far[beyond]
            ok = Image.fromarray((~beyond * 255).astype(np.uint8))
    dx, dy = int(r.integers(-14, 15)), int(r.integers(2, 16))
    out = out * (1 - r.uniform(0.15, 0.5) * soft(alpha, r.uniform(4, 12), dx, dy)) * (1 - r.uniform(0.2, 0.6) * soft(alpha, 2, 0, 2))
    a = np.asarray(alpha, np.float32)[..., None] / 255
    out = out * (1 - a) + np.asarray(full, np.float32) / 255 * r.uniform(0.85, 1.08) * a
    out = out + r.normal(0, r.uniform(0.003, 0.015), out.shape)
    return Image.fromarray((np.clip(out, 0, 1) * 255).astype(np.uint8)), alpha.point(lambda v: 255 if v > 127 else 0), ok


def main():
    categories, stamps, coffee, grounds, rooms, out = sys.argv[1:7]
    [os.makedirs(f'{out}/{s}/{d}', exist_ok=True) for s in ('real', 'photographed') for d in ('images', 'masks')]
    all_of = list(things(categories, stamps, coffee))
    for name, im, mask, whole in all_of:
        if whole:
            im.save(f'{out}/real/images/{name}.jpg', quality=92)
            mask.save(f'{out}/real/masks/{name}.png')
    surfaces = [f for f in sorted(glob.glob(grounds + '/*')) if '_lit' not in f]
    photos = sorted(glob.glob(rooms + '/*'))
    r = np.random.default_rng(11)
    for i in range(100):
        name, im, mask, _ = all_of[i % len(all_of)]
        room = Image.open(photos[r.integers(len(photos))]) if i % 2 else None
        picture, m, ok = composite(r, im, mask, Image.open(surfaces[r.integers(len(surfaces))]), room)
        picture.save(f'{out}/photographed/images/f{i:03d}.jpg', quality=88)
        m.save(f'{out}/photographed/masks/f{i:03d}.png')
        if ok:
            ok.save(f'{out}/photographed/masks/f{i:03d}_ok.png')


if __name__ == '__main__':
    main()
