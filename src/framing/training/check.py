#!/usr/bin/env python3
"""Loss on scenes that are not trained on: check.py --scenes DIR... W.pt... [--best FILE] writes the name of the best to FILE."""

import argparse, glob
import numpy as np
import torch, torch.nn.functional as F
from data import read
from train import load, loss


def main():
    ap = argparse.ArgumentParser()
    ap.add_argument('weights', nargs='+')
    ap.add_argument('--scenes', nargs='+', required=True)
    ap.add_argument('--best')
    A = ap.parse_args()
    dev = 'cuda' if torch.cuda.is_available() else 'cpu'
    rows = [read(f) for d in A.scenes for f in sorted(glob.glob(d + '/images/*'))]
    x, p, r = (torch.from_numpy(np.stack(q)).float().to(dev) for q in zip(*rows))
    x = F.interpolate(x.permute(0, 3, 1, 2), size=(320, 320), mode='bilinear', antialias=True)
    p, r = (F.interpolate((q / 255)[:, None], size=(320, 320), mode='bilinear', antialias=True)[:, 0] for q in (p, r))
    best = None
    for w in A.weights:
        net = load(w, dev).eval()
        with torch.no_grad():
            o = torch.cat([net(x[i : i + 32]).float() for i in range(0, len(x), 32)])
            o = F.interpolate(o, size=x.shape[2:], mode='bilinear', align_corners=False)
            s = torch.sigmoid(o[:, 0]) > 0.5
            iou = ((s & (p > 0.5)).sum((1, 2)) / (s | (p > 0.5)).sum((1, 2)).clamp(min=1)).mean().item()
            l = loss(o, p, r).item()
        print(f'{w}: loss {l:.4f}, mean overlap of the product {iou:.4f} on {len(x)} scenes', flush=True)
        best = min(best, (l, w)) if best else (l, w)
    if A.best:
        open(A.best, 'w').write(best[1])


if __name__ == '__main__':
    main()
