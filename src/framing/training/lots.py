"""Sets that lie apart: further pieces of a composite's product, which belong to it however far from it they lie.

Owns where the pieces of a set lie and how they are drawn; knows nothing of surfaces, rooms and what lies beside.
Tensors N x C x S x S; places and sizes as shares of the frame.
"""

import math
import torch
from draws import fixed, plane, take, v

COUNTS = (6, 5, 4, 3, 3, 3, 2, 2, 2, 2)  # pieces of a set, drawn alike


class Lots:
    """n sets in rows or heaps. size: longer side of a piece; x, y: place of the first; turn: direction in which the others follow."""

    def __init__(self, R, n):
        at = R.c.random()  # the rows are a random lot anyway, so the counts may fall along them: none need be read back from the device
        self.n, self.counts = n, [COUNTS[int((k + at) / n * len(COUNTS))] for k in range(n)]
        count = fixed(COUNTS, R.dev)[((torch.arange(n, device=R.dev) + at) / max(1, n) * len(COUNTS)).long()]
        gap = torch.where(R.p(n, 0.6), R.u(n, 0.95, 1.35), R.u(n, 1.2, 2.4))  # from centre to centre, in pieces
        span = R.u(n, 0.3, 0.92)
        self.size = (span / (1 + (count - 1) * gap)).clamp(min=0.07)
        self.step = self.size * gap
        self.turn = torch.where(R.p(n, 0.6), R.i(n, 4) * (math.pi / 2), R.u(n, 0, 6.3)) + R.u(n, -0.25, 0.25)
        self.loose = torch.where(R.p(n, 0.4), R.u(n, 0.1, 0.8), R.u(n, 0, 0.1)) * self.size  # across that direction
        c, s = self.turn.cos(), self.turn.sin()
        half = (count - 1) * self.step / 2
        self.half_w, self.half_h = half * c.abs() + self.size * 0.6 + self.loose, half * s.abs() + self.size * 0.6 + self.loose
        self.middle_x = 0.5 + (R.u(n) - 0.5) * (1 - 2 * self.half_w).clamp(min=0)
        self.middle_y = 0.5 + (R.u(n) - 0.5) * (1 - 2 * self.half_h).clamp(min=0)
        self.x, self.y = self.middle_x - half * c, self.middle_y - half * s

    def pieces(self, R, img, a):
        """Yields (how many sets, from the first on, have it; picture; alpha) of the second piece, the third and so on: the first one's img and a, moved, turned, smaller or
        larger, as things nearer and further are."""
        X, Y = plane(R.dev)
        alike, tame = R.p(self.n, 0.6), R.p(self.n, 0.65)
        for j in range(1, max(COUNTS)):
            z = sum(c > j for c in self.counts)
            if not z:
                return
            k = slice(z)
            q = lambda m: m.view(-1, 1, 1)
            c, s = self.turn[k].cos(), self.turn[k].sin()
            along, across = self.step[k] * (j + R.u(z, -0.12, 0.12)), self.loose[k] * R.u(z, -1, 1)
            px, py = self.x[k] + along * c - across * s, self.y[k] + along * s + across * c
            t = torch.where(alike[k], R.u(z, -0.12, 0.12), R.u(z, 0, 6.3))
            f = torch.where(R.p(z, 0.5) & ~alike[k], -1.0, 1.0)
            g = torch.where(tame[k], R.u(z, 0.92, 1.06), R.u(z, 0.6, 1.15))
            u, w = X - q(px), Y - q(py)
            x = q(self.x[k]) + (u * q(t.cos()) + w * q(t.sin())) * q(f / g)
            y = q(self.y[k]) + (w * q(t.cos()) - u * q(t.sin())) / q(g)
            yield z, take(img[k], x, y, 'border') * v(R.u(z, 0.9, 1.08)), take(a[k], x, y, 'zeros')
