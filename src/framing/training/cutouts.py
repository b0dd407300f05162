#!/usr/bin/env python3
"""Pictures with exact alpha as products for cutting out: cutouts.py PICTOGRAMS OUT

PICTOGRAMS: folder `assets` of npm @lobehub/fluent-emoji-3d 1.1.0 (MIT): modelled things rendered with alpha, 256 px. Of those without
tones of skin KEPT are taken, by their place in the order of names: things, food, plants, animals, clothes; no faces, hands, people, flags,
signs or letters, and nothing that the sets `apart` and `beyond` hold (pigs, bouquets, sandals, dolls, guitars, horses). OUT gets images/
(colours carried on past the rim) and masks/, square, for chunks.py --pictograms.
"""

import glob, os, sys
import numpy as np
from PIL import Image

SIDE, SPAN = 384, 320  # of the picture, of the thing in it
TONES = {'1f3fb', '1f3fc', '1f3fd', '1f3fe', '1f3ff', '200d'}
KEPT = """34 65 75-96 98-162 166 168 169 171 173 174 176-180 184 186 188-190 192-204 208 210 211 214-217 222 223 225 226 232-236 238 240 241
249 250 263 265 271-289 291-297 300-327 329 330 332-336 339 357-372 374 408 412-414 417 418 437 439 452 455-459 462-468 475 479-481 483 484
486-494 496 498-503 506 510-515 523-530 542-551 553 554 569-573 575-577 599 623 624 628 629 631 633-637 642-646 648-651 653-656 660 663 666
747-757 759-775 778-781 783-787 789 797 808 810-812 817 819-821 824-826 829-834 837-851 915-948 950-962 974-977 979-982 984-1027 1030 1033
1035 1036 1039-1050 1073-1102 1104-1106 1112 1113 1115-1121 1123 1124 1126-1129 1131-1155 1157-1171 1178 1180-1191 1212 1213 1215 1217 1218
1245 1254-1256 1258-1260 1262 1269-1273 1277-1279 1281 1282 1285 1288 1290 1292-1294 1296 1297 1302 1303 1311 1320 1334"""


def ordered(folder):
    """All pictures without tones of skin, flags and signs below U+2600, in the order of names."""
    out = []
    for f in sorted(glob.glob(folder + '/*.webp')):
        parts = os.path.basename(f)[:-5].split('-')
        first = int(parts[0], 16)
        if not TONES & set(parts) and not 0x1F1E6 <= first <= 0x1F1FF and first >= 0x2600:
            out.append(f)
    return out


def places():
    for part in KEPT.split():
        a, _, z = part.partition('-')
        yield from range(int(a), int(z or a) + 1)


def blur(q, radius):
    """Mean over a square window; beyond the border counts as nothing."""
    k = 2 * radius + 1
    for axis in (0, 1):
        pad = [(k // 2 + 1, k // 2) if i == axis else (0, 0) for i in range(q.ndim)]
        s = np.cumsum(np.pad(q, pad), axis)
        q = (np.take(s, range(k, s.shape[axis]), axis) - np.take(s, range(s.shape[axis] - k), axis)) / k
    return q


def carried(rgb, alpha):
    """Colours of a picture carried outwards from where it is opaque, so that no rim of another colour is cut out with it."""
    known = (np.asarray(alpha, np.float64) / 255)[..., None] ** 2
    out = np.asarray(rgb, np.float64) * known
    for radius in (1, 3, 9, 27, 81):
        w = blur(known, radius)
        more = np.clip(w * 4, 0, 1) * (1 - known)
        out, known = out + blur(out, radius) / np.maximum(w, 1e-6) * more, known + more
    return np.clip(out / np.maximum(known, 1e-6), 0, 255).astype(np.uint8)


def sized(im, longer):
    """Scaled to that longer side, px."""
    k = longer / max(im.size)
    return im.resize((max(2, round(im.size[0] * k)), max(2, round(im.size[1] * k))), Image.BICUBIC)


def square(im):
    """Picture and alpha, SIDE x SIDE, with the RGBA thing in the middle."""
    at = (SIDE - im.size[0]) // 2, (SIDE - im.size[1]) // 2
    rgb, alpha = Image.new('RGB', (SIDE, SIDE)), Image.new('L', (SIDE, SIDE))
    rgb.paste(im.convert('RGB'), at)
    alpha.paste(im.getchannel('A'), at)
    return rgb, alpha


def save(im, out, name):
    """One picture with alpha as a square one, the thing SPAN long in its middle."""
    box = im.getchannel('A').point(lambda v: 255 if v > 16 else 0).getbbox()
    rgb, alpha = square(sized(im.crop(box), SPAN))
    Image.fromarray(carried(rgb, alpha)).save(f'{out}/images/{name}.jpg', quality=88)
    alpha.save(f'{out}/masks/{name}.png', optimize=True)


def main():
    folder, out = sys.argv[1:3]
    [os.makedirs(f'{out}/{d}', exist_ok=True) for d in ('images', 'masks')]
    files = ordered(folder)
    for i in places():
        save(Image.open(files[i]).convert('RGBA'), out, f'p{i:04d}')
    print(len(list(places())), 'pictures of', len(files))


if __name__ == '__main__':
    main()
