#!/usr/bin/env python3
"""Fits the weights of the confidence on crops of scenes that the network was not trained on.

  calibrate.py SIGNALS.jsonl... [--ridge 10] [--caution 0] [--out src/framing/calibrated.rs]

SIGNALS is what `cargo bench --bench framing -- SETDIR --signals FILE` writes: one line a crop with its signals and
whether it is ready: the crop that the signals speak of, not the looser one that is taken for a glance. Logistic regression (Cox, 1958) with a ridge penalty on standardised signals, by Newton's
method; `caution` is taken off the log-odds, for the handful of scenes that a fit rests on; each signal's weight is kept at the sign that it has by its meaning, else set to 0. Prints what it would
promise on scenes left out of the fit (ten folds, whole scenes). Needs numpy.
"""
import argparse
import json
import textwrap

import numpy as np

# Meaning of each signal: more of it makes ready more (+1) or less (-1) probable; 0: either.
SIGNS = [1, 1, 1, -1, 1, -1, -1, -1, -1, -1, -1, 1, -1, 0, 0, -1, -1]


def fit(X, y, ridge):
    mean, spread = X.mean(0), X.std(0) + 1e-6
    active = np.ones(X.shape[1], bool)
    while True:
        Z = np.c_[np.ones(len(X)), ((X - mean) / spread)[:, active]]
        w = np.zeros(Z.shape[1])
        penalty = np.full(len(w), ridge)
        penalty[0] = 1e-6
        for _ in range(60):
            p = 1 / (1 + np.exp(-Z @ w))
            step = np.linalg.solve((Z * (p * (1 - p))[:, None]).T @ Z + np.diag(penalty), Z.T @ (y - p) - penalty * w)
            w += step
            if np.abs(step).max() < 1e-8:
                break
        full = np.zeros(X.shape[1])
        full[active] = w[1:]
        wrong = (np.sign(full) * np.array(SIGNS) < 0) & active
        if not wrong.any():
            break
        active &= ~wrong
    weights = full / spread
    return weights, w[0] - (weights * mean).sum()


def table(p, y):
    for bound in (.5, .8, .9, .95):
        sure = p >= bound
        share = y[sure].mean() if sure.any() else float('nan')
        print(f'  confidence >= {bound:<4}: {sure.mean():6.1%} of crops, {share:6.1%} of them ready')


def main():
    ap = argparse.ArgumentParser()
    ap.add_argument('signals', nargs='+')
    ap.add_argument('--ridge', type=float, default=10)
    ap.add_argument('--caution', type=float, default=0)
    ap.add_argument('--out')
    args = ap.parse_args()
    rows, names = [], []
    for f in args.signals:
        for line in open(f):
            r = json.loads(line)
            rows.append(r)
            names.append(f + r['image'])
    X = np.array([r['signals'] for r in rows])
    y = np.array([float(r['ready']) for r in rows])
    scenes = np.unique(names, return_inverse=True)[1]
    folds = np.random.default_rng(1).integers(0, 10, scenes.max() + 1)[scenes]
    p = np.zeros(len(y))
    for k in range(10):
        w, b = fit(X[folds != k], y[folds != k], args.ridge)
        p[folds == k] = 1 / (1 + np.exp(-(X[folds == k] @ w + b - args.caution)))
    print(f'{len(y)} crops of {scenes.max() + 1} scenes, {y.mean():.1%} ready; on scenes left out of the fit:')
    table(p, y)
    print(f'  Brier score {np.mean((p - y) ** 2):.4f}')
    w, b = fit(X, y, args.ridge)
    b -= args.caution
    print(np.round(w, 3), round(b, 3))
    if args.out:
        # Laid out as rustfmt does.
        weights = textwrap.fill(', '.join(f'{v:.4f}' for v in w) + ',', 100, initial_indent='    ', subsequent_indent='    ')
        with open(args.out, 'w') as f:
            f.write(f"""//! Weights of the confidence, written by `training/calibrate.py`; nothing here is set by hand.
//! Fitted on {len(y)} crops of {scenes.max() + 1} scenes, {y.mean():.1%} of them ready.

/// One weight for each of the signals, in their order.
pub const WEIGHTS: [f64; {len(w)}] = [
{weights}
];
pub const BIAS: f64 = {b:.4f};
""")


if __name__ == '__main__':
    main()
