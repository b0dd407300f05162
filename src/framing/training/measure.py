#!/usr/bin/env python3
"""Scores maps with a plain decision: measure.py MAPS.npz... --truth DIR... --score score.py [--worst N]

MAPS.npz comes from predict.py; DIR holds truth.json and masks. The decision is no more than: mean of the map and its mirrored twin,
parts over 15 % of the largest joined at threshold 0.5, their box, then the largest crop of each shape in the order whole, free of room,
centred, with 4 % air. Several MAPS of one recipe give mean and spread. `sure`: the boxes of the two evaluations and of thresholds
0.35 and 0.65 overlap the mean's box by at least 0.9.
"""

import argparse, importlib.util, os
import numpy as np
from PIL import Image
from scipy import ndimage
from truth import ASP, best_crop


def box(p, t):
    """Box [x0, y0, x1, y1] in a map's pixels of all parts over 15 % of the largest at threshold t, or None."""
    lab, n = ndimage.label(p > t)
    if not n:
        return None
    a = ndimage.sum_labels(np.ones_like(p), lab, range(1, n + 1))
    keep = [i + 1 for i in range(n) if a[i] >= 0.15 * a.max()]
    ys, xs = np.where(np.isin(lab, keep))
    return [xs.min(), ys.min(), xs.max() + 1, ys.max() + 1]


def overlap(a, b):
    if a is None or b is None:
        return 0.0
    i = max(0, min(a[2], b[2]) - max(a[0], b[0])) * max(0, min(a[3], b[3]) - max(a[1], b[1]))
    return i / ((a[2] - a[0]) * (a[3] - a[1]) + (b[2] - b[0]) * (b[3] - b[1]) - i)


def decide(m, W, H, room=0.5):
    """Crops of the three shapes for maps m (2 x 2 x 160 x 160, 8 bit) of a W x H picture; and how far the evaluations agree, 0 to 1."""
    up = lambda a: np.asarray(Image.fromarray(a.astype(np.float32) / 255).resize((320, 320), Image.BILINEAR))
    p0, p1 = up(m[0, 0]), up(m[1, 0])
    p = (p0 + p1) / 2
    r = up(m[:, 1].astype(np.float32).mean(0))
    bb = box(p, 0.5)
    if bb is None:
        return [dict(aspect=k, crop=centre(W, H, a), subject=None) for k, a in ASP.items()], 0.0
    agree = min(overlap(bb, box(q, t)) for q, t in ((p0, 0.5), (p1, 0.5), (p, 0.35), (p, 0.65)))
    b = [bb[0] * W / 320, bb[1] * H / 320, (bb[2] - bb[0]) * W / 320, (bb[3] - bb[1]) * H / 320]
    sw, sh = (320, round(320 * H / W)) if W > H else (round(320 * W / H), 320)
    bad = np.asarray(Image.fromarray(((r > room) & (p < 0.5)).astype(np.uint8) * 255).resize((sw, sh), Image.BOX)) > 100
    none = np.zeros_like(bad)
    out = []
    for k, a in ASP.items():
        c = None
        for mask, margin, cen in (
            (bad, 0.04, 0.05),
            (bad, 0.04, 0.09),
            (bad, 0.04, None),
            (bad, 0.022, 0.09),
            (bad, 0.022, None),
            (none, 0.04, 0.05),
            (none, 0.022, None),
            (none, 0.0, None),
        ):
            c = best_crop(mask, W, H, b, a, margin, cen)
            if c:
                break
        out.append(dict(aspect=k, crop=c or around(W, H, a, b), subject=b))
    return out, agree


def centre(W, H, a):
    w = min(W, H * a[0] / a[1])
    h = w * a[1] / a[0]
    return [(W - w) / 2, (H - h) / 2, w, h]


def around(W, H, a, b):
    x, y, w, h = centre(W, H, a)
    return [min(max(b[0] + b[2] / 2 - w / 2, 0), W - w), min(max(b[1] + b[3] / 2 - h / 2, 0), H - h), w, h]


def main():
    ap = argparse.ArgumentParser()
    ap.add_argument('maps', nargs='+')
    ap.add_argument('--truth', nargs='+', required=True)
    ap.add_argument('--score', required=True)
    ap.add_argument('--room', type=float, default=0.5, help='threshold of the room map')
    ap.add_argument('--worst', type=int, default=0)
    ap.add_argument('--tags', action='store_true')
    A = ap.parse_args()
    spec = importlib.util.spec_from_file_location('score', A.score)
    S = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(S)
    for d in A.truth:
        T = S.load(d)
        rows = []
        for f in A.maps:
            Z = np.load(f)
            P, agree = {}, {}
            for k, (rec, _, _) in T.items():
                P[k], agree[k] = decide(
                    Z[os.path.basename(os.path.normpath(d)) + '/' + k.rsplit('.', 1)[0]], rec['width'], rec['height'], A.room
                )
            R, _ = S.score(T, P)
            a = S.agg(R)
            g = lambda rs: [r['ready'] for r in rs if r['ready'] is not None]
            sure = g([r for r in R if agree[r['image']] >= 0.9])
            a['sure'], a['cover'] = np.mean(sure), len(sure) / len(g(R))
            rows.append(a)
            if A.worst:
                [
                    print(
                        '   ',
                        r['image'],
                        r['aspect'],
                        'iou %.2f kept %.2f margin %.3f centre %.3f edge-free %s agree %.2f'
                        % (r['iou'], r['kept'], r['margin'], r['centre'], r['edge_free'], agree[r['image']]),
                        ' '.join(r['tags']),
                    )
                    for r in sorted(R, key=lambda r: (r['ready'] is not False, r['iou']))[: A.worst]
                    if r['ready'] is False
                ]
            if A.tags:
                for t in sorted({t for r in R for t in r['tags']}):
                    q = g([r for r in R if t in r['tags']])
                    print(f'   {t:28s} {len(q):4d} {np.mean(q):.0%}')
            print(
                f'{os.path.basename(d):8s} {os.path.basename(f):22s} '
                + ' '.join(f'{k} {a[k]:.3f}' for k in ('iou70', 'whole_f', 'edge_free', 'ready', 'sure', 'cover')),
                flush=True,
            )
        if len(rows) > 1:
            print(
                f'{os.path.basename(d):8s} {"mean (least-most)":22s} '
                + ' '.join(
                    f'{k} {np.mean([a[k] for a in rows]):.3f} ({min(a[k] for a in rows):.3f}-{max(a[k] for a in rows):.3f})'
                    for k in ('iou70', 'whole_f', 'edge_free', 'ready', 'sure', 'cover')
                )
            )


if __name__ == '__main__':
    main()
