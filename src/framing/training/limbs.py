"""Thin parts for composites: tails, spouts, stalks and threads that grow out of a product, handles that return to it, and stray
lines that touch no product and belong to none.

Tensors N x C x S x S; all places 0 to 1.
"""

import torch
import torch.nn.functional as F
from draws import S, plane, soften, v

PIECES = 14


def line(points, r0, r1, dev):
    """Soft alpha, and distance from the middle in radii, of a chain of points (N x K x 2) whose radius goes from r0 to r1."""
    X, Y = plane(dev)
    q = lambda a: a.view(-1, 1, 1)
    best = None
    k = points.shape[1] - 1
    for i in range(k):
        (x0, y0), (x1, y1) = points[:, i].unbind(1), points[:, i + 1].unbind(1)
        dx, dy = x1 - x0, y1 - y0
        t = (((X - q(x0)) * q(dx) + (Y - q(y0)) * q(dy)) / q(dx * dx + dy * dy + 1e-8)).clamp(0, 1)
        r = q(r0) + (q(r1) - q(r0)) * ((i + t) / k)
        d = torch.hypot(X - q(x0) - t * q(dx), Y - q(y0) - t * q(dy))
        edge = (r - d) * S + 0.5  # one pixel soft
        if best is None:
            best, near = edge, d / r
        else:
            near = torch.where(edge > best, d / r, near)
            best = torch.maximum(best, edge)
    return best.clamp(0, 1)[:, None], near[:, None].clamp(0, 1)


def chain(R, p0, p2, bend, wave):
    """Points from p0 to p2: a quadratic curve whose middle is moved by `bend`, with `wave` of its length to and fro."""
    n = len(p0)
    t = torch.linspace(0, 1, PIECES + 1, device=R.dev)[None, :, None]
    mid = (p0 + p2) / 2 + bend
    c = (1 - t) ** 2 * p0[:, None] + 2 * t * (1 - t) * mid[:, None] + t**2 * p2[:, None]
    along = p2 - p0
    across = torch.stack([-along[:, 1], along[:, 0]], 1)[:, None]
    turns = R.u(n, 0.6, 2.6).view(n, 1, 1)
    return c + across * wave.view(n, 1, 1) * torch.sin(6.283 * turns * t) * t


def on(R, a):
    """A place on each product of alpha a, N x 2."""
    small = (F.interpolate(a, size=(40, 40), mode='area')[:, 0] > 0.6).float().flatten(1) + 1e-7
    k = torch.multinomial(small, 1, generator=R.g)[:, 0]
    return (torch.stack([k % 40, k // 40], 1).float() + 0.5) / 40


def paint(R, near, base):
    """Colours of a round thin part: the given ones (N x 3 x 1 x 1) or others, darker towards the rim."""
    n = len(near)
    c = torch.where(v(R.p(n, 0.4)), R.u(n, 0, 1, 3).view(n, 3, 1, 1), base * v(R.u(n, 0.5, 1.3)))
    return (c * (1 - v(R.u(n, 0.1, 0.7)) * near**2)).clamp(0, 1)


def grow(R, img, a, cx, cy, half):
    """A thin part for each product of picture img and alpha a, centre (cx, cy), half its longer side `half`: picture and alpha of both."""
    n = len(a)
    p0 = on(R, a)
    centre = torch.stack([cx, cy], 1)
    out = p0 - centre + 0.15 * half[:, None] * R.normal(n, 2)
    out = out / (out.norm(dim=1, keepdim=True) + 1e-6)
    length = half[:, None] * R.u(n, 0.5, 1.9)[:, None]
    back = R.p(n, 0.35)[:, None]
    p2 = torch.where(back, on(R, a), p0 + out * length)
    p2 = torch.where(R.p(n, 0.9)[:, None], p2.clamp(0.015, 0.985), p2)
    side = torch.stack([-out[:, 1], out[:, 0]], 1)
    bend = torch.where(back, out * length * R.u(n, 0.8, 1.6)[:, None], side * length * R.u(n, -0.7, 0.7)[:, None])
    wave = R.u(n, 0, 0.25) * R.p(n, 0.4)
    r0 = (half * torch.where(R.p(n, 0.5), R.u(n, 0.012, 0.05), R.u(n, 0.04, 0.14))).clamp(min=0.0025)
    m, near = line(chain(R, p0, p2, bend, wave), r0, (r0 * R.u(n, 0.35, 1.2)).clamp(min=0.002), R.dev)
    base = (img * a).sum((2, 3), keepdim=True) / a.sum((2, 3), keepdim=True).clamp(min=1)
    seen = m * (1 - a * v(R.p(n, 0.7)))  # behind the product, or before it
    return img * (1 - seen) + paint(R, near, base) * seen, torch.maximum(a, m)


def stray(R, B, a):
    """Lines of any colour on the surfaces B, kept where they stay clear of the product of alpha a."""
    n = len(B)
    p0, p2 = R.u(n, -0.1, 1.1, 2), R.u(n, -0.1, 1.1, 2)
    r = R.u(n, 0.0025, 0.012)
    m, near = line(chain(R, p0, p2, 0.4 * (R.u(n, 0, 1, 2) - 0.5), R.u(n, 0, 0.2)), r, r, R.dev)
    clear = ((m > 0) & (soften(a, 9) > 0.01)).sum((1, 2, 3)) == 0
    m = m * v(clear)
    return B * (1 - m) + paint(R, near, B.mean((2, 3), keepdim=True)) * m
