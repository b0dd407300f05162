"""Exact truth of a scene from its identity pass: subject box, room-free rectangle, what crops are possible.

Identity colours: red product, green surface, blue prop, black beyond the surface. Pixels, x right, y down.
"""

import numpy as np
from PIL import Image

ASP = {'4:3': (4, 3), '1:1': (1, 1), '4:5': (4, 5)}


def maxrect(ok, need=None):
    """largest all-true rectangle (containing need=[x0,y0,x1,y1] when given) in a small mask"""
    h, w = ok.shape
    best = (0, None)
    hh = np.zeros(w, int)
    for y in range(h):
        hh = np.where(ok[y], hh + 1, 0)
        st = []
        for x in range(w + 1):
            c = hh[x] if x < w else 0
            s = x
            while st and st[-1][1] >= c:
                s, q = st.pop()
                rect = (s, y - q + 1, x, y + 1)
                A = (x - s) * q
                if A > best[0] and (
                    need is None or (rect[0] <= need[0] and rect[1] <= need[1] and rect[2] >= need[2] and rect[3] >= need[3])
                ):
                    best = (A, rect)
            st.append((s, c))
    return best[1]


def best_crop(bad, W, H, bb, ar, margin=0.04, centred=None):
    """largest crop of aspect ar holding bb with margin, no bad pixel; bad = small mask (True = beyond the edge). centred=max centring error"""
    h, w = bad.shape
    S = np.zeros((h + 1, w + 1))
    S[1:, 1:] = bad.cumsum(0).cumsum(1)
    x, y, bw, bh = bb

    def nbad(x0, y0, x1, y1):
        sx, sy = w / W, h / H
        a, b_, c, d = (
            np.floor(x0 * sx + 0.35).astype(int).clip(0, w),
            np.floor(y0 * sy + 0.35).astype(int).clip(0, h),
            np.ceil(x1 * sx - 0.35).astype(int).clip(0, w),
            np.ceil(y1 * sy - 0.35).astype(int).clip(0, h),
        )
        return S[d, c] - S[b_, c] - S[d, a] + S[b_, a]

    cwmax = min(W, H * ar[0] / ar[1])
    cwmin = max(bw / (1 - 2 * margin), bh / (1 - 2 * margin) * ar[0] / ar[1])
    if cwmin > cwmax + 1e-6:
        return None
    for cw in np.linspace(cwmax, cwmin, 60):
        ch = cw * ar[1] / ar[0]
        mx, my = margin * cw, margin * ch
        lo_x, hi_x = max(0, x + bw + mx - cw), min(W - cw, x - mx)
        lo_y, hi_y = max(0, y + bh + my - ch), min(H - ch, y - my)
        if centred is not None:
            cx, cy = x + bw / 2 - cw / 2, y + bh / 2 - ch / 2
            lo_x, hi_x = max(lo_x, cx - centred * cw), min(hi_x, cx + centred * cw)
            lo_y, hi_y = max(lo_y, cy - centred * ch), min(hi_y, cy + centred * ch)
        if lo_x > hi_x + 1e-6 or lo_y > hi_y + 1e-6:
            continue
        X, Y = np.meshgrid(np.linspace(lo_x, hi_x, 25), np.linspace(lo_y, hi_y, 25))
        n = nbad(X, Y, X + cw, Y + ch)
        g = n <= 0
        if g.any():
            dd = np.hypot(X + cw / 2 - x - bw / 2, Y + ch / 2 - y - bh / 2)
            dd[~g] = 1e9
            i = dd.argmin()
            return [round(float(t), 1) for t in (X.flat[i], Y.flat[i], cw, ch)]
    return None


def truth(idm, W, H, quick=False):
    """(record, product mask, small room mask), or None without a product; quick: `usable` is the whole frame, not searched for."""
    R, G, B = idm[..., 0], idm[..., 1], idm[..., 2]
    m = R > 0.5
    h, w = m.shape
    ys, xs = np.where(m)
    if len(ys) < 60:
        return None
    s = W / w
    bb = [
        round(xs.min() * s),
        round(ys.min() * H / h),
        round((xs.max() + 1 - xs.min()) * s),
        round((ys.max() + 1 - ys.min()) * H / h),
    ]
    bad = (R + G + B) < 0.5
    edge = bad.mean() > 0.002
    sw = 320 if W > H else round(320 * W / H)
    shh = round(320 * H / W) if W > H else 320
    bs = np.asarray(Image.fromarray((bad * 255).astype(np.uint8)).resize((sw, shh), Image.BOX)) > 100
    if not edge:
        bs[:] = False
    us = None
    contains = None
    if edge:
        nd = (bb[0] * sw / W + 0.5, bb[1] * shh / H + 0.5, (bb[0] + bb[2]) * sw / W - 0.5, (bb[1] + bb[3]) * shh / H - 0.5)
        q = (0, 0, sw, shh) if quick else maxrect(~bs, nd)
        contains = q is not None
        q = q or maxrect(~bs)
        us = (
            [round(q[0] * W / sw), round(q[1] * H / shh), round((q[2] - q[0]) * W / sw), round((q[3] - q[1]) * H / shh)]
            if q
            else None
        )
    feas = {}
    for k, ar in ASP.items():
        c = best_crop(bs, W, H, bb, ar)
        cc = best_crop(bs, W, H, bb, ar, centred=0.05) if c and not quick else None
        iu = None
        if c and us and contains and not quick:
            z = np.ones((shh, sw), bool)
            z[
                round(us[1] * shh / H) : round((us[1] + us[3]) * shh / H),
                round(us[0] * sw / W) : round((us[0] + us[2]) * sw / W),
            ] = False
            iu = best_crop(z, W, H, bb, ar) is not None
        feas[k] = dict(feasible=bool(c) if iu is None else bool(iu), feasible_by_mask=bool(c), largest=c, largest_centred=cc)
    return dict(subject=bb, usable=us, usable_contains_subject=contains, feasible=feas), m, bs
