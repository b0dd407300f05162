"""Camera, props, hands, lights and the render passes of the scene generator.

Owns what stands round a product and how a picture is taken; knows nothing of surfaces' outlines (stage.py) or truth (truth.py).
"""

import math
import numpy as np
import bpy
from PIL import Image
from mathutils import Vector, Matrix
from shapes import *
from materials import *
from products import *
import goods


class Cam:
    def __init__(s, W, H, elev, lens):
        s.W, s.H = W, H
        cd = bpy.data.cameras.new('cam')
        s.ob = bpy.data.objects.new('cam', cd)
        bpy.context.scene.collection.objects.link(s.ob)
        bpy.context.scene.camera = s.ob
        cd.lens = lens
        cd.sensor_width = 36
        cd.sensor_fit = 'AUTO'
        s.cd = cd
        s.elev = elev
        cd.clip_end = 500

    def place(s, target, d, roll=0):
        e = s.elev
        f = Vector((0, math.cos(e), -math.sin(e)))
        loc = Vector(target) - f * d
        q = f.to_track_quat('-Z', 'Y')
        R = q.to_matrix().to_4x4() @ Matrix.Rotation(roll, 4, 'Z')
        s.ob.matrix_world = Matrix.Translation(loc) @ R
        bpy.context.view_layer.update()

    def PM(s):
        dg = bpy.context.evaluated_depsgraph_get()
        return np.array(s.ob.calc_matrix_camera(dg, x=s.W, y=s.H)) @ np.array(s.ob.matrix_world.inverted())

    def proj(s, v):
        p = np.c_[v, np.ones(len(v))] @ s.PM().T
        w = np.maximum(p[:, 3:4], 1e-6)
        n = p[:, :2] / w
        return np.c_[(n[:, 0] + 1) / 2, (1 - n[:, 1]) / 2]

    def ray(s, u, v):
        I = np.linalg.inv(s.PM())
        a = I @ np.array([2 * u - 1, 1 - 2 * v, -1, 1])
        b = I @ np.array([2 * u - 1, 1 - 2 * v, 1, 1])
        a = a[:3] / a[3]
        b = b[:3] / b[3]
        d = b - a
        return a, d / np.linalg.norm(d)

    def hit(s, u, v, axis=2, val=0.0, maxd=60):
        o, d = s.ray(u, v)
        if abs(d[axis]) < 1e-6:
            return None
        t = (val - o[axis]) / d[axis]
        return o + d * t if 0 < t < maxd else None


def leafm(r, L, m):
    nx = 10
    V = []
    for i in range(nx + 1):
        t = i / nx
        w = 0.22 * L * math.sin(math.pi * min(1, t * 0.96 + 0.02)) ** 0.8
        for k in (-1, 0, 1):
            V.append((t * L, k * w, 0.01 + 0.12 * L * math.sin(t * 3) * 0.6 + abs(k) * 0.05 * L))
    F = [(i * 3 + k, i * 3 + k + 1, i * 3 + k + 4, i * 3 + k + 3) for i in range(nx) for k in range(2)]
    return mesh('leaf', V, F, m)


def prop_small(r, kind):
    g = r.choice([(0.3, 0.42, 0.25), (0.45, 0.52, 0.35), (0.5, 0.55, 0.48), (0.6, 0.4, 0.2)])
    if kind == 'leaf':
        return move([leafm(r, r.uniform(0.25, 0.45), make_mat('matte', g, r))], rz=r.uniform(0, 6))
    if kind == 'sprig':
        m = make_mat('matte', g, r)
        o = [
            tube(
                [(t * 0.8, 0.06 * math.sin(t * 3), 0.03 + 0.05 * math.sin(t * 3)) for t in np.linspace(0, 1, 12)],
                0.012,
                m,
                seg=6,
            )
        ]
        for i in range(8):
            o += move(
                [leafm(r, r.uniform(0.18, 0.28), m)],
                x=0.1 + 0.09 * i,
                y=0.06 * math.sin((0.1 + 0.09 * i) / 0.8 * 3),
                z=0.03,
                rz=(1 if i % 2 else -1) * r.uniform(0.6, 1.1),
            )
        return move(o, rz=r.uniform(0, 6))
    if kind == 'pebble':
        return [
            blob(
                r.uniform(0.08, 0.14),
                r.uniform(0.07, 0.12),
                r.uniform(0.04, 0.07),
                make_mat('plaster', r.choice([(0.5, 0.5, 0.5), (0.75, 0.72, 0.68), (0.3, 0.3, 0.3)]), r),
                0.2,
                1.5,
                3,
                seed=r.randint(0, 99),
            )
        ]
    if kind == 'bean':
        return [blob(0.05, 0.032, 0.024, make_mat('gloss', r.choice([(0.25, 0.14, 0.08), (0.3, 0.17, 0.1)]), r), 0.05, 2, 2)]
    if kind == 'petal':
        return move(
            [
                leafm(
                    r,
                    r.uniform(0.1, 0.16),
                    make_mat('matte', r.choice([(0.85, 0.55, 0.6), (0.95, 0.9, 0.85), (0.8, 0.3, 0.3)]), r),
                )
            ],
            rz=r.uniform(0, 6),
        )


def reset():
    bpy.ops.wm.read_factory_settings(use_empty=True)


def setcol(obs, c):
    for o in obs:
        o.color = (*c, 1)


def window(x, y, r, z0=0):
    o = []
    w, h = r.uniform(2, 3.5), r.uniform(2.5, 4)
    o.append(
        quad(
            [(x - w / 2, y, z0), (x + w / 2, y, z0), (x + w / 2, y, z0 + h), (x - w / 2, y, z0 + h)],
            emis(r.choice([(0.85, 0.93, 1), (1, 1, 1), (0.8, 0.9, 0.8)]), r.uniform(1.5, 4)),
        )
    )
    fm = make_mat('gloss', r.choice([(0.95, 0.95, 0.95), (0.4, 0.28, 0.18)]), r)
    for cx, cz, sx, sz in [
        (x, z0, w + 0.3, 0.15),
        (x, z0 + h, w + 0.3, 0.15),
        (x - w / 2, z0 + h / 2, 0.15, h),
        (x + w / 2, z0 + h / 2, 0.15, h),
        (x, z0 + h / 2, 0.1, h),
        (x, z0 + h * 0.6, w, 0.1),
    ]:
        b = rbox(sx, 0.12, sz, 0.01, fm, 1, False)
        move([b], x=cx, y=y - 0.06, z=cz - sz / 2)
        o.append(b)
    return o


def common(scale, W, H, thr):
    sc = bpy.context.scene
    sc.render.engine = 'CYCLES'
    sc.cycles.device = 'CPU'
    sc.render.threads_mode = 'FIXED'
    sc.render.threads = thr
    sc.render.resolution_x, sc.render.resolution_y, sc.render.resolution_percentage = W, H, scale
    sc.render.use_persistent_data = False
    return sc


def load_px(path):
    im = bpy.data.images.load(path)
    w, h = im.size
    a = np.empty(w * h * 4, np.float32)
    im.pixels.foreach_get(a)
    bpy.data.images.remove(im)
    return a.reshape(h, w, 4)[::-1, :, :3].copy()


def idpass(cam, tmp, spp=8):
    sc = common(100, cam.W, cam.H, 1)
    m = M()
    e = m.n('ShaderNodeEmission')
    oi = m.n('ShaderNodeObjectInfo')
    m.l(oi.outputs['Color'], e.inputs[0])
    m.l(e.outputs[0], m.t.nodes['Material Output'].inputs[0])
    vl = bpy.context.view_layer
    vl.material_override = m.m
    dof = cam.cd.dof.use_dof
    cam.cd.dof.use_dof = False
    sc.cycles.samples = spp
    sc.cycles.use_denoising = False
    sc.cycles.use_adaptive_sampling = False
    sc.cycles.max_bounces = 0
    sc.cycles.filter_width = 0.5
    sc.view_settings.view_transform = 'Raw'
    sc.render.image_settings.file_format = 'OPEN_EXR'
    sc.render.image_settings.color_depth = '16'
    sc.render.filepath = tmp
    s = sc.world.node_tree.nodes['Background'].inputs[1]
    keep = s.default_value
    s.default_value = 0
    bpy.ops.render.render(write_still=True)
    a = load_px(tmp)
    s.default_value = keep
    vl.material_override = None
    cam.cd.dof.use_dof = dof
    return a


def beauty(cam, tmp, spp, pct, quick=False):
    sc = common(pct, cam.W, cam.H, 1)
    c = sc.cycles
    c.samples = spp
    c.use_adaptive_sampling = True
    c.adaptive_threshold = 0.04
    c.adaptive_min_samples = 8
    c.max_bounces = 4 if quick else 5
    c.diffuse_bounces = c.glossy_bounces = 1 if quick else 2
    c.transmission_bounces = 4 if quick else 5
    c.transparent_max_bounces = 4
    c.caustics_reflective = c.caustics_refractive = False
    c.sample_clamp_indirect = 4
    c.filter_width = 1.3
    c.use_denoising = True
    c.denoiser = 'OPENIMAGEDENOISE'
    c.denoising_input_passes = 'RGB_ALBEDO_NORMAL'
    c.denoising_prefilter = 'FAST'
    c.use_light_tree = False
    if quick:  # the map by which light is drawn from a panorama takes most of the time at its full size
        sc.world.cycles.sampling_method = 'MANUAL'
        sc.world.cycles.sample_map_resolution = 128
    sc.view_settings.view_transform = 'Raw'
    sc.render.image_settings.file_format = 'OPEN_EXR'
    sc.render.image_settings.color_depth = '16'
    sc.render.filepath = tmp
    bpy.ops.render.render(write_still=True)
    return load_px(tmp)


SKIN = [(0.93, 0.78, 0.68), (0.85, 0.65, 0.53), (0.7, 0.5, 0.38), (0.5, 0.34, 0.25), (0.33, 0.22, 0.16), (0.96, 0.84, 0.76)]


def hand(r, reach):
    """A hand lying at the origin, pointing along +x, its forearm running `reach` back along -x."""
    m = make_mat('matte', r.choice(SKIN), r)
    o = [
        blob(0.24, 0.2, 0.08, m, 0.06, 2, 3, at=(-0.1, 0, 0.14)),
        tube([(-0.2, 0, 0.15), (-0.5, 0, 0.17), (-reach, r.uniform(-0.2, 0.2), 0.3)], [0.13, 0.12, 0.18], m),
    ]
    for i, y in enumerate((-0.15, -0.05, 0.05, 0.14)):
        L = (0.28, 0.34, 0.32, 0.25)[i]
        c = r.uniform(-0.06, 0.08)
        o.append(
            tube(
                [(0.05, y, 0.14), (0.05 + L * 0.5, y * 1.1 + c * 0.3, 0.15), (0.05 + L, y * 1.1 + c, 0.08)],
                [0.055, 0.05, 0.038],
                m,
            )
        )
    o.append(tube([(-0.15, 0.16, 0.14), (0.0, 0.3, 0.13), (0.14, 0.32, 0.09)], [0.065, 0.055, 0.042], m))
    if r.random() < 0.4:
        s = make_mat('fabric', r.choice(PAL), r)
        o.append(tube([(-0.55, 0, 0.17), (-reach, 0, 0.3)], [0.17, 0.24], s))
    return move(o, s=r.uniform(0.8, 1.3))


def rival(r, lying, names):
    """A second thing as large as the product, of one of the kinds `names`."""
    C = Col(r, (0.5, 0.5, 0.5), False)
    C.stand = not lying
    k = r.choice([k for k in names if lying or k not in goods.LYING])
    return normalise(goods.ALL[k](r, C), r.uniform(0.6, 1.15))


def prop_big(r):
    C = Col(r, (0.5, 0.5, 0.5), False)
    C.stand = True
    k = r.choice(['plant', 'mug', 'bottle', 'ball', 'vase', 'jug', 'notebook', 'plates'])
    if k == 'ball':
        return [
            blob(
                0.22,
                0.22,
                0.2,
                make_mat('gloss', r.choice([(0.85, 0.5, 0.15), (0.75, 0.2, 0.15), (0.5, 0.6, 0.2)]), r),
                0.05,
                1.5,
                3,
            )
        ]
    return normalise(goods.ALL[k](r, C), r.uniform(0.6, 1.0))


def lights(r, view, d, hdris):
    """One of: window, small hard lamp, sun, two lamps of different colour; ambient from a photographed surrounding or plain sky; sometimes slats that throw stripes of shade. Returns True when the surrounding is a photograph."""
    sc = bpy.context.scene
    up = view in ('board', 'flat', 'low')
    mode = r.choice(['window', 'window', 'hard', 'sun', 'mixed', 'ambient'])

    def area(side, size, energy, colour, el, az):
        ld = bpy.data.lights.new('area', 'AREA')
        ld.shape = 'RECTANGLE'
        ld.size = size
        ld.size_y = size * 1.3
        ld.energy = energy
        ld.color = colour
        lo = bpy.data.objects.new('area', ld)
        sc.collection.objects.link(lo)
        lo.location = (
            side * 6 * math.cos(el) * math.cos(az),
            6 * math.cos(el) * math.sin(az) * (1 if up else -1),
            6 * math.sin(el),
        )
        lo.rotation_euler = (Vector((0, 0, 0.3)) - lo.location).to_track_quat('-Z', 'Y').to_euler()
        lo.visible_camera = False
        return lo

    side = r.choice([-1, 1])
    el, az = r.uniform(0.4, 1.2), r.uniform(-0.3, 1.1)
    warm, cool = (1, r.uniform(0.7, 0.9), r.uniform(0.45, 0.75)), (r.uniform(0.75, 0.92), r.uniform(0.88, 0.97), 1)
    lamp = None
    if mode == 'window':
        lamp = area(
            side,
            r.uniform(1.5, 4.5),
            900 * r.uniform(0.7, 1.2),
            r.choice([(1, 0.97, 0.93), (1, 0.93, 0.84), (0.93, 0.97, 1)]),
            el,
            az,
        )
    elif mode == 'hard':
        lamp = area(side, r.uniform(0.08, 0.4), 900 * r.uniform(0.6, 1.1), r.choice([warm, (1, 1, 1)]), el, az)
    elif mode == 'mixed':
        lamp = area(side, r.uniform(0.5, 3), 700 * r.uniform(0.6, 1.1), cool, el, az)
        area(-side, r.uniform(0.1, 0.8), 600 * r.uniform(0.3, 1), warm, r.uniform(0.5, 1.3), r.uniform(-0.3, 1))
    elif mode == 'sun':
        ld = bpy.data.lights.new('sun', 'SUN')
        ld.energy = r.uniform(3, 7)
        ld.angle = r.uniform(0.005, 0.05)
        ld.color = (1, 0.95, 0.86)
        lamp = bpy.data.objects.new('sun', ld)
        sc.collection.objects.link(lamp)
        lamp.rotation_euler = (r.uniform(-0.2, 1.0) * (1 if up else 1), r.uniform(-0.9, 0.9), r.uniform(-0.5, 0.5))
    if mode in ('window', 'hard', 'mixed') and r.random() < 0.2:
        k = make_mat('paper', (0.1, 0.1, 0.1), r)
        q = lamp.location * 0.35
        t = r.uniform(0, 3.1)
        for i in range(-4, 5):
            b = rbox(3, r.uniform(0.04, 0.12), 0.02, 0, k, 1, False)
            b.data.transform(Matrix.Rotation(t, 4, 'Z'))
            b.data.transform(Matrix.Translation((q[0] - math.sin(t) * i * 0.3, q[1] + math.cos(t) * i * 0.3, q[2])))
            b.visible_camera = False
            b.name = 'slat'
    w = bpy.data.worlds.new('w')
    sc.world = w
    w.use_nodes = True
    nt = w.node_tree
    bg = nt.nodes['Background']
    photo = bool(hdris) and r.random() < (0.95 if mode == 'ambient' else 0.6)
    if photo:
        im = bpy.data.images.load(r.choice(hdris))
        im.pack()
        e = nt.nodes.new('ShaderNodeTexEnvironment')
        e.image = im
        tc = nt.nodes.new('ShaderNodeTexCoord')
        mp = nt.nodes.new('ShaderNodeMapping')
        mp.inputs['Rotation'].default_value = (0, 0, r.uniform(0, 6.3))
        nt.links.new(tc.outputs['Generated'], mp.inputs['Vector'])
        nt.links.new(mp.outputs['Vector'], e.inputs['Vector'])
        nt.links.new(e.outputs['Color'], bg.inputs['Color'])
        bg.inputs[1].default_value = r.uniform(0.6, 1.4) if mode == 'ambient' else r.uniform(0.2, 0.8)
    else:
        bg.inputs[0].default_value = (*r.choice([(0.9, 0.95, 1), (1, 0.97, 0.92), (1, 1, 1)]), 1)
        bg.inputs[1].default_value = r.uniform(0.2, 0.8) if mode != 'ambient' else r.uniform(0.8, 1.2)
    return photo


def develop(a, W, H, albedo, seed):
    """Scene-linear render to an 8-bit picture as a phone or camera would give it: exposure, white balance, blur of a moving hand, vignette, noise, shoulder."""
    rng = np.random.default_rng(seed)
    L = a @ [0.2126, 0.7152, 0.0722]
    lm = np.exp(np.mean(np.log(np.clip(L, 1e-3, 20))))
    phone = rng.random() < 0.4
    tgt = (0.2**0.35) * (max(albedo, 0.03) ** 0.65) * 0.95
    a = a * (tgt / lm) * 2 ** rng.uniform(-0.6, 0.45)
    a = a * (1 + rng.uniform(-0.05, 0.05, 3) * [1, 0.3, 1] * (2.5 if phone else 1))
    if rng.random() < 0.1:
        n, t = int(rng.integers(3, 9)), rng.uniform(0, 3.1)
        a = np.mean(
            [np.roll(a, (round((k - n / 2) * math.sin(t)), round((k - n / 2) * math.cos(t))), (0, 1)) for k in range(n)], 0
        )
    im = (
        np.stack(
            [np.asarray(Image.fromarray(a[..., i].astype(np.float32)).resize((W, H), Image.BICUBIC)) for i in range(3)], -1
        )
        if a.shape[1] != W
        else a
    )
    yy, xx = np.mgrid[0:H, 0:W]
    im = im * (1 - rng.uniform(0.0, 0.3) * (((xx / W - 0.5) ** 2 + (yy / H - 0.5) ** 2) * 1.6))[..., None]
    im = np.clip(im, 0, None)
    sg = rng.uniform(0.002, 0.03 if phone else 0.011)
    nz = rng.normal(size=im.shape)
    if phone:
        nz = np.stack(
            [
                np.asarray(
                    Image.fromarray(nz[..., i].astype(np.float32))
                    .resize((W // 2, H // 2), Image.BOX)
                    .resize((W, H), Image.BICUBIC)
                )
                * 1.6
                for i in range(3)
            ],
            -1,
        )
    im = im + nz * sg * np.sqrt(np.clip(im, 0, 1) + 0.02) * 1.6
    im = np.clip(im, 0, None)
    k = 0.72
    im = np.where(im > k, k + (1 - k) * (1 - np.exp(-(im - k) / (1 - k))), im)
    im = np.where(im <= 0.0031308, im * 12.92, 1.055 * np.power(np.maximum(im, 1e-6), 1 / 2.4) - 0.055)
    return Image.fromarray((np.clip(im, 0, 1) * 255 + 0.5).astype(np.uint8))
