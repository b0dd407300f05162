"""Training pictures made on the accelerator: crops of rendered scenes, composites on procedural surfaces, and cameras' faults.

Owns all randomness between the stored scenes and the network. Tensors N x C x 320 x 320; pictures 0 to 1, masks 0 or 1.
"""

import math
import torch, torch.nn.functional as F
from camera import camera, hue
from draws import S, Random, fixed, grid, noise, plane, soften, take, v
from limbs import grow, stray
from lots import Lots


def crop(R, D, idx, level):
    """A window of stored scenes, turned a little and mirrored; the product stays inside in most. From level 2 on many are as close
    as the program's second look. Returns picture, product, room."""
    n = len(idx)
    X, Y = plane(R.dev)
    b = D.box[idx]
    k = torch.where(R.p(n, 0.25), R.u(n, 0.22, 0.6), R.u(n, 0.5, 1.0))
    go = R.p(n, 0.68)
    w = torch.where(go, (k * R.u(n, 0.85, 1.15)).clamp(max=1), torch.ones_like(k))
    h = torch.where(go, (k * R.u(n, 0.85, 1.15)).clamp(max=1), torch.ones_like(k))
    w, h = torch.maximum(w, (b[:, 2] - b[:, 0] + 0.01).clamp(max=1)), torch.maximum(h, (b[:, 3] - b[:, 1] + 0.01).clamp(max=1))
    if level >= 2:
        close = R.p(n, 0.3)
        side = (torch.maximum(b[:, 2] - b[:, 0], b[:, 3] - b[:, 1]) * R.u(n, 1.4, 2.4)).clamp(0.24, 1)
        w, h = torch.where(close, side, w), torch.where(close, side, h)
    free = R.p(n, 0.05)

    def start(size, lo, hi):
        a, z = torch.where(free, 0 * lo, (hi - size).clamp(min=0)), torch.where(free, 1 - size, torch.minimum(lo, 1 - size))
        return a + (z - a).clamp(min=0) * R.u(n)

    x0, y0 = start(w, b[:, 0], b[:, 2]), start(h, b[:, 1], b[:, 3])
    t = torch.where(R.p(n, 0.35), R.u(n, -0.22, 0.22), torch.zeros(n, device=R.dev))
    f = torch.where(R.p(n, 0.5), -1.0, 1.0)
    q = lambda a: a.view(-1, 1, 1)
    u, w_ = (X - 0.5) * q(f), Y - 0.5
    c, s = q(t.cos()), q(t.sin())
    x = q(x0 + w / 2) + (u * c - w_ * s) * q(w)
    y = q(y0 + h / 2) + (u * s + w_ * c) * q(h)
    return take(D.picture(idx), x, y), (take(D.product(idx), x, y) > 0.5).float(), (take(D.room(idx), x, y) > 0.5).float()


def cutout(R, D, idx, cx, cy, size, turn, flip):
    """Products laid at (cx, cy) with their longer side `size`: picture, soft alpha, and the half sides they then have."""
    n = len(idx)
    X, Y = plane(R.dev)
    b = D.box[idx]
    bw, bh = b[:, 2] - b[:, 0], b[:, 3] - b[:, 1]
    k = torch.maximum(bw, bh) / size
    ka = k * R.u(n, 0.88, 1.14)
    thin = torch.where(R.p(n, 0.12), R.u(n, 1.5, 3.0), torch.ones_like(k))  # across the shorter side
    ka, k = torch.where(bw <= bh, ka * thin, ka), torch.where(bw > bh, k * thin, k)
    q = lambda a: a.view(-1, 1, 1)
    u, w = (X - q(cx)), (Y - q(cy))
    c, s = q(turn.cos()), q(turn.sin())
    x = q((b[:, 0] + b[:, 2]) / 2) + (u * c - w * s) * q(ka * flip)
    y = q((b[:, 1] + b[:, 3]) / 2) + (u * s + w * c) * q(k)
    a = take(D.product(idx), x, y, 'zeros')
    a = F.avg_pool2d(a, 3, 1, 1)
    a = ((a - 0.35) / 0.5).clamp(0, 1)
    C, Sn = turn.cos().abs(), turn.sin().abs()
    hw, hh = bw / ka / 2, bh / k / 2
    return take(D.picture(idx), x, y, 'border'), a, hw * C + hh * Sn, hw * Sn + hh * C


def texture(R, D, n, photo=0.0):
    """Surfaces of the bank seen at an angle, graded; some are photographs (surroundings) when photo > 0."""
    X, Y = plane(R.dev)
    q = lambda a: a.view(-1, 1, 1)
    t = torch.where(R.p(n, 0.5), R.i(n, 4) * (math.pi / 2), R.u(n, 0, 6.3))
    per = torch.where(R.p(n, 0.6), R.u(n, 0, 1.6), torch.zeros(n, device=R.dev))
    w = 1 + q(per) * (1 - Y)
    z = q(R.u(n, 0.12, 1.0))
    u, s = (X - 0.5) * w * z, (Y - 0.5) * w * z
    x = q(R.u(n)) + u * q(t.cos()) - s * q(t.sin())
    y = q(R.u(n)) + u * q(t.sin()) + s * q(t.cos())
    a = take(D.surface(R.i(n, D.n_surface)), x, y)
    if photo > 0 and D.n_photo:
        z = q(R.u(n, 0.25, 0.9))
        a = torch.where(v(R.p(n, photo)), take(D.photo(R.i(n, D.n_photo)), q(R.u(n)) + (X - 0.5) * z, 0.5 + (Y - 0.5) * z), a)
    a = torch.where(v(R.p(n, 0.15)), a.mean(1, keepdim=True) + 0.04 * R.normal(n, 3, 1, 1), a)
    return ((a - 0.5) * v(R.u(n, 0.4, 1.3)) + 0.5 + v(R.u(n, -0.2, 0.2))).clamp(0, 1)


def layout(R, n, cx, cy, hw, hh):
    """Where the surface ends: straight ends, many-sided and rounded outlines, live edges. Room mask N x 1 x S x S, never all."""
    X, Y = plane(R.dev)
    q = lambda a: a.view(-1, 1, 1)
    room = torch.zeros(n, S, S, dtype=torch.bool, device=R.dev)
    kind = R.u(n)
    rough = torch.where(R.p(n, 0.25), R.u(n, 0.003, 0.02), torch.zeros(n, device=R.dev))
    wave = noise(R, n, 12)[:, 0] * q(rough)
    tilt = R.u(n, -0.3, 0.3)
    sides = torch.where(kind < 0.5, 1 + R.i(n, 3), torch.where(kind < 0.74, 3 + R.i(n, 5), torch.zeros_like(R.i(n, 2))))
    loose = R.u(n, 0.0, 0.9)
    for k in range(8):
        t = torch.where(
            sides > 3,
            k * 2 * math.pi / sides.clamp(min=1) + tilt * 3,
            R.i(n, 4) * (math.pi / 2) + tilt * torch.where(R.p(n, 0.3), 2.0, 0.6),
        )
        nx, ny = t.cos(), t.sin()
        inner = nx * cx + ny * cy + nx.abs() * hw + ny.abs() * hh
        outer = nx.clamp(min=0) + ny.clamp(min=0)
        d = (
            inner
            + 0.012
            + (outer - inner - 0.02).clamp(min=0.0) * torch.where(sides > 3, loose * R.u(n, 0.7, 1.2), R.u(n, 0.0, 0.9))
        )
        d = torch.where((ny < -0.7) & R.p(n, 0.25), inner - R.u(n, 0, 1.2) * hh, d)
        room |= (q(nx) * X + q(ny) * Y + wave > q(d)) & q(k < sides)
    e = fixed((2.0, 2.0, 3.0, 5.0, 9.0), R.dev)[R.i(n, 5)]
    grow = 2 ** (1 / e)
    a, b = hw * grow * R.u(n, 1.03, 2.6), hh * grow * R.u(n, 1.03, 2.6)
    rd = R.p(n, 0.4)
    m = torch.maximum(a, b)
    a, b = torch.where(rd, m, a), torch.where(rd, m, b)
    c, s = q(tilt.cos()), q(tilt.sin())
    u, w = X - q(cx), Y - q(cy)
    far = (((u * c - w * s).abs() + wave.abs()) / q(a)) ** q(e) + ((u * s + w * c).abs() / q(b)) ** q(e) > 1
    room |= far & q(kind >= 0.74)
    return room[:, None].float()


SKIN = ((0.9, 0.72, 0.62), (0.82, 0.62, 0.5), (0.7, 0.5, 0.38), (0.5, 0.34, 0.25), (0.33, 0.22, 0.17), (0.95, 0.8, 0.72))


def backdrop(R, D, B, cy, hh):
    """A wall, a sheet or a board that stands behind the product and belongs to the surface: what lies above a line through or over it."""
    n = len(B)
    X, Y = plane(R.dev)
    q = lambda a: a.view(-1, 1, 1)
    behind = texture(R, D, n)
    w = R.c.choice([1, 1, 3, 7, 13])
    behind = soften(behind, w) if w > 1 else behind
    level = cy - hh + 2 * hh * R.u(n, -0.35, 0.85)
    d = Y + (X - 0.5) * q(R.u(n, -0.08, 0.08)) - q(level)
    m = torch.sigmoid(-d / q(torch.where(R.p(n, 0.3), R.u(n, 0.01, 0.06), torch.full((n,), 0.0015, device=R.dev))))[:, None]
    line = 1 - v(R.u(n, 0, 0.4) * R.p(n, 0.5)) * torch.exp(-((d / 0.012) ** 2))[:, None]
    return (B * (1 - m) + behind * v(R.u(n, 0.6, 1.15)) * m) * line


def arm(R, cx, cy, hw, hh):
    """A forearm that comes in from the frame's border and a hand of four fingers near the product: picture and alpha."""
    n = len(cx)
    X, Y = plane(R.dev)
    q = lambda a: a.view(-1, 1, 1)
    t = torch.where(R.p(n, 0.6), R.u(n, -0.7, 0.7) + math.pi / 2, R.u(n, 0, 6.3))
    c, s = t.cos(), t.sin()
    z = torch.maximum(hw, hh).clamp(0.08, 0.3) * R.u(n, 0.6, 1.3)
    tip = hw * c.abs() + hh * s.abs() + z * R.u(n, -0.45, 0.5)
    px, py = cx + c * (tip + 0.9 * z), cy + s * (tip + 0.9 * z)
    u, w = (X - q(px)) * q(c) + (Y - q(py)) * q(s), (X - q(px)) * q(-s) + (Y - q(py)) * q(c)  # along the arm, outwards; across
    u, w = u / q(z), w / q(z)

    def limb(u0, w0, u1, w1, r0, r1):
        k = (((u - u0) * (u1 - u0) + (w - w0) * (w1 - w0)) / ((u1 - u0) ** 2 + (w1 - w0) ** 2)).clamp(0, 1)
        return torch.hypot(u - u0 - k * (u1 - u0), w - w0 - k * (w1 - w0)) / (r0 + k * (r1 - r0))

    spread = R.c.uniform(0.7, 1.3)
    parts = [limb(0.1, 0.0, 6.0, R.c.uniform(-1, 1), 0.3, 0.5), limb(-0.05, -0.2, -0.05, 0.2, 0.26, 0.26)]
    for k in range(4):
        y = (k - 1.5) * 0.19
        parts.append(limb(-0.1, y, -0.55 - 0.2 * R.c.random(), y * spread + R.c.uniform(-0.08, 0.08), 0.12, 0.09))
    parts.append(limb(0.1, 0.25, -0.3, 0.5 * spread, 0.13, 0.1))
    d = torch.stack(parts).amin(0)
    skin = fixed(SKIN, R.dev)[R.i(n, len(SKIN))].view(n, 3, 1, 1) * v(R.u(n, 0.75, 1.1))
    sleeve = (u > q(R.u(n, 0.5, 1.5)))[:, None] & v(R.p(n, 0.5))
    img = torch.where(sleeve, R.u(n, 0, 1, 3).view(n, 3, 1, 1), skin) * (1 - 0.4 * d.clamp(0, 1) ** 2)[:, None]
    return img.clamp(0, 1), ((1.04 - d) / 0.08).clamp(0, 1)[:, None]


def scraps(R, img, count, where=None):
    """Small plain things that are no product: ellipses and rectangles of any colour."""
    n = len(img)
    X, Y = plane(R.dev)
    q = lambda a: a.view(-1, 1, 1)
    big = R.p(n, 0.3)
    for _ in range(count):
        r = torch.where(big, R.u(n, 0.02, 0.16), R.u(n, 0.004, 0.03))
        t = R.u(n, 0, 6.3)
        u, w = X - q(R.u(n)), Y - q(R.u(n))
        x, y = (u * q(t.cos()) - w * q(t.sin())) / q(r * R.u(n, 0.3, 1)), (u * q(t.sin()) + w * q(t.cos())) / q(r)
        m = torch.where(q(R.p(n, 0.5)), x * x + y * y < 1, torch.maximum(x.abs(), y.abs()) < 1)[:, None] & v(R.p(n, 0.45))
        if where is not None:
            m = m & (where > 0.5)
        img = torch.where(m, (R.u(n, 0, 1, 3).view(n, 3, 1, 1) * (1 + 0.3 * y[:, None].clamp(-1, 1))).clamp(0, 1), img)
    return img


def shade(R, img, a, top=0.6):
    """A soft shadow of alpha a, thrown to one side."""
    k = [5, 9, 15, 25][R.c.randrange(4)]
    s = soften(a, k)
    dx, dy = R.c.randrange(31) - 15, R.c.randrange(16) - 2
    s = torch.roll(s, (dy, dx), (2, 3))
    return img * (1 - v(R.u(len(img), 0.05, top)) * s)


def colour(R, img):
    """Another hue, saturation, gain: for cut-outs, apart from what they lie on."""
    n = len(img)
    t = torch.where(R.p(n, 0.5), R.u(n, -0.5, 0.5), R.u(n, 0, 6.3)) * R.p(n, 0.6)
    return hue(img, t, R.u(n, 0.4, 1.4)) * v(R.u(n, 0.6, 1.35))


def contact(R, img, a):
    """The narrow dark seam where a thing meets what it stands on."""
    k = R.c.choice([3, 5, 9])
    s = torch.roll(soften(a, k), R.c.randrange(1, k + 1), 2)
    return img * (1 - v(R.u(len(img), 0.1, 0.75)) * s)


def brightness(m):
    """Mean of each picture, never quite black."""
    return m.mean((1, 2, 3), keepdim=True).clamp(min=0.05)


def grained(img, t, strength):
    """The grain of a surface t over pictures, 0 to 1 strong."""
    return img * (1 + (t.mean(1, keepdim=True) / brightness(t) - 1) * v(strength))


def clad(t, light, strength):
    """The picture of a surface t under another one's light N x 1 x S x S."""
    return t * (light / brightness(light)) ** v(strength)


def dress(R, D, img):
    """Pictograms as real stuff: the grain or the picture of a surface under their own light and shade, a lamp from one side, gloss."""
    n = len(img)
    X, Y = plane(R.dev)
    q = lambda a: a.view(-1, 1, 1)
    t = texture(R, D, n)
    light = img.mean(1, keepdim=True)
    img = torch.where(v(R.p(n, 0.55)), grained(img, t, R.u(n, 0.1, 0.9)), img)
    img = torch.where(v(R.p(n, 0.25)), clad(t, light, R.u(n, 0.5, 1.2)), img)
    g = R.u(n, 0, 6.3)
    slope = ((X - 0.5) * q(g.cos()) + (Y - 0.5) * q(g.sin()))[:, None]
    img = img * (1 + v(R.u(n, 0, 1.4) * R.p(n, 0.6)) * slope)
    shine = noise(R, n, R.c.choice([5, 9, 16])).clamp(0, 2) ** 4
    return (img + v(R.u(n, 0, 0.12) * R.p(n, 0.35)) * shine).clamp(0, 1)


def varied(R, D, img, p, r):
    """Rendered scenes of which product, surface and room look otherwise, each by itself; shapes, light and shadows stay. Props are as the surface."""
    p, r = F.avg_pool2d(p, 3, 1, 1), F.avg_pool2d(r, 3, 1, 1)
    out = img.clone()
    for share, part, photo in ((0.4, (1 - p) * (1 - r), 0.0), (0.3, r, 0.35), (0.35, p, 0.0)):
        k = R.some(len(img), share)
        x, m, how = img[k], part[k], R.u(len(k))
        new = colour(R, x)
        if part is not p:
            t = texture(R, D, len(k), photo)
            light = soften(x.mean(1, keepdim=True), 9)
            new = torch.where(v(how > 0.4), grained(x, t, R.u(len(k), 0.2, 0.9)), new)
            new = torch.where(v(how > 0.75), clad(t, light, R.u(len(k), 0.5, 1.2)), new)
        out[k] = out[k] * (1 - m) + new.clamp(0, 1) * m
    return out


def compose(R, D, idx, level):
    """Products cut out and laid on surfaces of the bank, with shadows, a room beyond, things beside. Returns picture, product, room."""
    n = len(idx)
    one = lambda p: torch.where(R.p(n, p), -1.0, 1.0)
    wide, broad, limbs, wider, sets = level >= 1, level >= 2, level >= 3, level >= 4, level >= 5
    size = torch.where(R.p(n, 0.2 if wide else 0.0), R.u(n, 0.7, 0.97), R.u(n, 0.14, 0.72))
    if broad:
        size = torch.where(R.p(n, 0.25), R.u(n, 0.42, 0.7), size)  # as large as in a close look
    pair = R.some(n, 0.2 if sets else 0.1 if wide else 0.0)
    pair, lot = (pair[len(pair) // 2 :], pair[: len(pair) // 2]) if sets else (pair, pair[:0])
    size = size * torch.ones_like(size).index_fill_(0, pair, 0.55)
    # The outermost are cut by the frame.
    reach = torch.where(R.p(n, 0.12 if broad else 0.0), 1.15, 0.9) * (1 - size)
    cx, cy = 0.5 + (R.u(n) - 0.5) * reach, 0.5 + (R.u(n) - 0.5) * reach
    if len(lot):
        lots = Lots(R, len(lot))
        size, cx, cy = (q.index_copy(0, lot, new) for q, new in ((size, lots.size), (cx, lots.x), (cy, lots.y)))
    turn = torch.where(R.p(n, 0.75), R.u(n, -0.2, 0.2), R.u(n, 0, 6.3))
    f = one(0.5)
    img, a, hw, hh = cutout(R, D, idx, cx, cy, size, turn, f)
    img = torch.where(v(D.drawn[idx]), dress(R, D, img), img) if wider else img
    img = colour(R, img) if wide else img
    B = texture(R, D, n)
    if wide:
        k = R.some(n, 0.2)
        B[k] = backdrop(R, D, B[k], cy[k], hh[k])
    k = R.some(n, 0.5)
    B[k] = scraps(R, B[k], 4)
    rs = R.some(n, 0.58 if wide else 0.45)
    room = torch.zeros(n, 1, S, S, device=R.dev)
    both = a
    if len(rs):
        about = cx, cy, hw, hh
        if len(lot):  # all of a set lies on the surface
            about = (q.index_copy(0, lot, of) for q, of in zip(about, (lots.middle_x, lots.middle_y, lots.half_w, lots.half_h)))
        m = layout(R, len(rs), *(q[rs] for q in about))
        room[rs] = m
        ground = B[rs]
        beyond = texture(R, D, len(rs), 0.35 if wide else 0.0)
        if wide:
            k = R.some(len(rs), 0.2 if broad else 0.12)  # the surface's own pattern goes on beyond its end
            beyond[k] = torch.roll(ground[k].flip(R.c.choice([2, 3])), R.c.randrange(S), 3) * v(R.u(len(k), 0.6, 1.1))
            beyond = furnish(R, D, beyond, ground, m)
        B[rs] = torch.where(m > 0.5, beyond, ground)
    if wide:  # other things, partly out of the frame or smaller, behind the product
        for share in (0.35, 0.2):
            k = R.some(n, share)
            z = len(k)
            if not z:
                continue
            j = idx[torch.randperm(n, generator=R.g, device=R.dev)][k]
            s2 = size[k].clamp(min=0.2) * R.u(z, 0.4, 1.3)
            side = R.i(z, 4)
            off = R.u(z, -0.1, 0.22) * s2
            ex = torch.where(side == 0, off, torch.where(side == 1, 1 - off, R.u(z)))
            ey = torch.where(side == 2, off, torch.where(side == 3, 1 - off, R.u(z)))
            o, oa, _, oh = cutout(R, D, j, ex, ey, s2, R.u(z, -0.3, 0.3), one(0.5)[:z])
            b = shade(R, B[k], oa)
            B[k] = b * (1 - oa) + colour(R, o) * oa
            room[k] = standing(room[k], oa, ex, ey + oh) if broad else room[k] * (oa < 0.5)
        if broad:
            k = R.some(n, 0.18)
            j = idx[torch.randperm(n, generator=R.g, device=R.dev)][k]
            B[k], room[k] = rival(R, D, B[k], room[k], j, cx[k], cy[k], size[k])
        k = pair
        if len(k):  # a second piece of the same product belongs to it
            z = len(k)
            o, oa, _, _ = cutout(
                R,
                D,
                idx[k],
                (cx + (hw * 2 + 0.01) * torch.where(cx < 0.5, 1.0, -1.0))[k],
                cy[k] + R.u(z, -0.05, 0.05),
                size[k] * R.u(z, 0.85, 1.1),
                turn[k] + R.u(z, -0.15, 0.15),
                -f[k],
            )
            b = shade(R, B[k], oa)
            B[k] = b * (1 - oa) + o * oa
            both = a.clone()
            both[k] = torch.maximum(a[k], oa)
    if len(lot):  # the others of a set, wherever they lie
        both = both.clone()
        for z, o, oa in lots.pieces(R, img[lot], a[lot]):
            k = lot[:z]
            o = torch.where(v(R.p(z, 0.25)), colour(R, o), o)
            b = shade(R, B[k], oa)
            B[k] = contact(R, b, oa) * (1 - oa) + o * oa
            both[k] = torch.maximum(both[k], oa)
    if limbs:  # thin parts that belong to the product, and thin things that do not
        k = R.some(n, 0.2)
        img[k], new = grow(R, img[k], a[k], cx[k], cy[k], torch.maximum(hw, hh)[k])
        a, both = a.clone(), both.clone()
        a[k], both[k] = new, torch.maximum(both[k], new)
        k = R.some(n, 0.12)
        B[k] = stray(R, B[k], both[k])
    k = R.some(n, 0.13 if wide else 0.0)
    if len(k):  # a hand beside, under or before the product
        h, ha = arm(R, cx[k], cy[k], hw[k], hh[k])
        b = shade(R, B[k], ha)
        B[k] = b * (1 - ha) + h * ha
        room[k] = room[k] * (ha < 0.5)
        over = (1 - ha * v(R.p(len(k), 0.4)))
        a = a.clone()
        a[k] = a[k] * over
        both = both.clone()
        both[k] = both[k] * over
    if broad:  # the product in the colour of what it stands on
        k = R.some(n, 0.15)
        under = lambda m: (m * a[k]).sum((2, 3), keepdim=True) / a[k].sum((2, 3), keepdim=True).clamp(min=1)
        img[k] = (img[k] + (under(B[k]) - under(img[k])) * v(R.u(len(k), 0.5, 1.0))).clamp(0, 1)
    B = shade(R, B, a)
    k = R.some(n, 0.5)
    B[k] = shade(R, B[k], a[k], 0.45)
    if wider:
        k = R.some(n, 0.5)
        B[k] = contact(R, B[k], a[k])
    out = B * (1 - a) + img * a
    k = R.some(n, 0.5)
    out[k] = out[k] * (1 + noise(R, len(k), 2) * v(R.u(len(k), 0, 0.12)))
    return out.clamp(0, 1), (both > 0.5).float(), room * (both < 0.5)


def standing(room, a, x, foot):
    """The room mask once a thing of alpha a stands with its foot at (x, foot): part of the room when that is one."""
    n = torch.arange(len(room), device=room.device)
    there = room[n, 0, (foot * S).long().clamp(0, S - 1), (x * S).long().clamp(0, S - 1)]
    return torch.where(v(there) > 0.5, torch.maximum(room, (a > 0.5).float()), room * (a < 0.5))


def rival(R, D, B, room, idx, cx, cy, size):
    """Another whole thing in the frame, smaller than the product at (cx, cy) and further out; blurred in some. Picture and room mask."""
    n = len(idx)
    s = size * R.u(n, 0.3, 0.75)
    far = lambda c: 0.5 + torch.where(c > 0.5, -1.0, 1.0) * ((c - 0.5).abs() + (0.5 - (c - 0.5).abs()) * R.u(n, 0.15, 0.95))
    x, y = far(cx), torch.where(R.p(n, 0.5), far(cy), R.u(n, 0.1, 0.9))
    o, a, _, half = cutout(R, D, idx, x, y, s, R.u(n, -0.4, 0.4), torch.where(R.p(n, 0.5), -1.0, 1.0))
    o = colour(R, o)
    w = R.c.choice([1, 1, 3, 7])
    o, a = (soften(o, w), soften(a, w)) if w > 1 else (o, a)
    return shade(R, B, a) * (1 - a) + o * a, standing(room, a, x, y + half)


def furnish(R, D, beyond, ground, room):
    """A room that is more than one texture: a second surface, things, blur, other light, the board's shadow and side."""
    n = len(beyond)
    h = torch.full((n,), 0.1, device=R.dev)
    k = R.some(n, 0.5)
    if len(k):
        z = len(k)
        beyond[k] = torch.where(
            layout(R, z, R.u(z, 0.3, 0.7), R.u(z, 0.3, 0.7), h[k], h[k]) > 0.5, texture(R, D, z, 0.2), beyond[k]
        )
    k = R.some(n, 0.6)
    beyond[k] = scraps(R, beyond[k], 5)
    q = R.c.choice([1, 1, 5, 9, 17])
    beyond = soften(beyond, q) if q > 1 else beyond
    k = R.some(n, 0.7)
    beyond[k] = beyond[k] * v(R.u(len(k), 0.4, 1.2))
    dark = torch.roll(soften(1 - room, 15), (R.c.randrange(14), R.c.randrange(21) - 10), (2, 3))
    k = R.some(n, 0.5)
    beyond[k] = beyond[k] * (1 - v(R.u(len(k), 0, 0.6)) * dark[k])
    th = R.c.randrange(1, 15)
    edge = (torch.roll(1 - room, th, 2) > 0.5) & (room > 0.5)
    edge[:, :, :th] = False
    return torch.where(edge & v(R.p(n, 0.5)), torch.roll(ground, th, 2) * v(R.u(n, 0.4, 0.9)), beyond)


# Share of pictograms among the products of composites (step 11).
DRAWN = 0.4


def scenes(R, D, n, level, drawn=DRAWN, joined=0.0):
    """n pictures before any camera's fault, 0 to 1, with product and room masks N x 1 x S x S; the first share of them composites.

    drawn, joined: shares of pictograms and of things grown together among the composites' products, where there are any."""
    idx = D.draw(R, n)
    c = int(n * ((0.4, 0.45, 0.5)[min(level, 2)] + R.c.random() / n))
    img, p, r = crop(R, D, idx[c:], level)
    img = varied(R, D, img, p, r) if level >= 6 else img
    whole = D.whole_ids[R.i(c, len(D.whole_ids))]
    if level >= 4 and len(D.drawn_ids):
        whole = torch.where(R.p(c, drawn), D.drawn_ids[R.i(c, len(D.drawn_ids))], whole)
    if joined and len(D.joined_ids):
        whole = torch.where(R.p(c, joined), D.joined_ids[R.i(c, len(D.joined_ids))], whole)
    ci, cp, cr = compose(R, D, whole, level)
    return torch.cat([ci, img]), torch.cat([cp, p]), torch.cat([cr, r])


def shoot(R, img, p, r, level, side=S, mirrored=False):
    """A training sample of pictures and masks: the camera's faults, then `side` px: pictures 0 to 255, masks N x side x side, 0 to 1."""
    x = camera(R, img.flip(3) if mirrored else img, level >= 1, level >= 6)
    p, r = (p.flip(3), r.flip(3)) if mirrored else (p, r)
    if side != S:
        x, p, r = (F.interpolate(q, size=(side, side), mode='bilinear', antialias=True) for q in (x, p, r))
    return (x * 255).round(), p[:, 0], r[:, 0]


def batch(R, D, n, level, drawn=DRAWN, joined=0.0):
    """n training samples of S px."""
    return shoot(R, *scenes(R, D, n, level, drawn, joined), level)
