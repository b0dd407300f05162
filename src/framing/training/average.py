#!/usr/bin/env python3
"""Averages the weights of networks that started from one trunk: average.py W.pt... --out W.pt [--shares F...] (Wortsman et al., model soups, arXiv 2203.05482)."""

import argparse
import torch


def main():
    ap = argparse.ArgumentParser()
    ap.add_argument('weights', nargs='+')
    ap.add_argument('--out', required=True)
    ap.add_argument('--shares', nargs='+', type=float, help='of each; alike if not given')
    A = ap.parse_args()
    shares = A.shares or [1 / len(A.weights)] * len(A.weights)
    L = [torch.load(w, map_location='cpu') for w in A.weights]
    torch.save(
        {k: sum(q * d[k].float() for q, d in zip(shares, L)).half() if L[0][k].is_floating_point() else L[0][k] for k in L[0]}, A.out
    )


if __name__ == '__main__':
    main()
