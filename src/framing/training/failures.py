#!/usr/bin/env python3
"""Draws the scenes that are wrong with the highest confidence: failures.py W.pt --sets DIR... --reports TXT... --out failures.jpg

A report is what `cargo bench --bench framing -- DIR --worst 9999` prints, one for each set. Twelve scenes, surest first, one crop each
counted. White: the true product. Green, red: what the first look takes for product and room.
"""

import argparse, os, re
import numpy as np
import torch
from PIL import Image, ImageFilter
from train import load

CELL, ACROSS, DOWN = 240, 6, 2
LINE = re.compile(r'(images/\S+) \S+ \S+ iou=.* conf=(\S+) (.*)')


def surest(folder, report):
    """(confidence, picture, tags) of each scene of a report, by its surest crop."""
    found = {}
    for line in open(report):
        m = LINE.match(line)
        if m:
            name, sure = f'{folder}/{m[1]}', float(m[2])
            found[name] = max(found.get(name, (0, '')), (sure, m[3]))
    return [(sure, name, tags) for name, (sure, tags) in found.items()]


def drawn(net, name):
    im = Image.open(name).convert('RGB')
    x = np.asarray(im.resize((320, 320), Image.BILINEAR), np.float32).transpose(2, 0, 1)
    with torch.no_grad():
        maps = torch.sigmoid(net(torch.from_numpy(x)[None]))[0].numpy()
    a = np.asarray(im, np.float32)
    for m, colour in zip(maps, ((0, 190, 60), (220, 30, 30))):
        m = np.asarray(Image.fromarray(m).resize(im.size, Image.BILINEAR))[..., None]
        a = np.where(m > 0.5, a * 0.5 + np.array(colour, np.float32) * 0.5, a)
    mask = Image.open(name.replace('/images/', '/masks/').rsplit('.', 1)[0] + '.png').convert('L')
    rim = np.asarray(mask.filter(ImageFilter.MaxFilter(3)), np.int16) - np.asarray(mask, np.int16) > 127
    a[rim] = 255
    out = Image.fromarray(a.astype(np.uint8))
    out.thumbnail((CELL - 6, CELL - 6), Image.LANCZOS)
    return out


def main():
    ap = argparse.ArgumentParser()
    ap.add_argument('weights')
    ap.add_argument('--sets', nargs='+', required=True)
    ap.add_argument('--reports', nargs='+', required=True)
    ap.add_argument('--out', required=True)
    A = ap.parse_args()
    rows = sorted(sum((surest(*p) for p in zip(A.sets, A.reports)), []), reverse=True)[: ACROSS * DOWN]
    net = load(A.weights, 'cpu').eval()
    sheet = Image.new('RGB', (ACROSS * CELL, DOWN * CELL), (17, 17, 17))
    for i, (sure, name, tags) in enumerate(rows):
        sheet.paste(drawn(net, name), (i % ACROSS * CELL + 3, i // ACROSS * CELL + 3))
        print(f'{sure:.2f} {os.path.basename(name)} {tags}')
    sheet.save(A.out, quality=80)


if __name__ == '__main__':
    main()
