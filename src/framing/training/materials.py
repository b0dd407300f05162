"""Materials of the scene generator: node graphs for glazes, cloth, wood, glass, metal, and pictures as surfaces.

Owns looks and colours; knows nothing of shapes or scenes. Colours are sRGB 0 to 1.
"""

import numpy as np
import bpy
import patterns
import patterns_further  # noqa: F401 (makes its kinds known)


def lin(c):
    c = np.array(c, float)
    return tuple(np.where(c <= 0.04045, c / 12.92, ((c + 0.055) / 1.055) ** 2.4))


class M:
    """tiny node-graph helper"""

    def __init__(s):
        s.m = bpy.data.materials.new('m')
        s.m.use_nodes = True
        s.t = s.m.node_tree
        s.b = s.t.nodes['Principled BSDF']
        s.tc = s.t.nodes.new('ShaderNodeTexCoord')

    def n(s, typ, **kw):
        x = s.t.nodes.new(typ)
        for k, v in kw.items():
            if k.startswith('i_'):
                x.inputs[k[2:].replace('_', ' ')].default_value = v
            else:
                setattr(x, k, v)
        return x

    def l(s, a, b):
        s.t.links.new(a, b)

    def mapv(s, scale, rot=(0, 0, 0), loc=(0, 0, 0), src='Object'):
        mp = s.n('ShaderNodeMapping')
        mp.inputs['Scale'].default_value = scale
        mp.inputs['Rotation'].default_value = rot
        mp.inputs['Location'].default_value = loc
        s.l(s.tc.outputs[src], mp.inputs['Vector'])
        return mp.outputs['Vector']

    def ramp(s, fac, stops):
        r = s.n('ShaderNodeValToRGB')
        e = r.color_ramp.elements
        while len(e) < len(stops):
            e.new(0.5)
        for el, (p, c) in zip(e, stops):
            el.position = p
            el.color = (*lin(c), 1)
        s.l(fac, r.inputs['Fac'])
        return r.outputs['Color']

    def bump(s, h, strength=0.3, dist=0.02):
        b = s.n('ShaderNodeBump')
        b.inputs['Strength'].default_value = strength
        b.inputs['Distance'].default_value = dist
        s.l(h, b.inputs['Height'])
        s.l(b.outputs['Normal'], s.b.inputs['Normal'])

    def col(s, c):
        s.b.inputs['Base Color'].default_value = (*lin(c), 1)

    def rough(s, r, spec=0.5):
        s.b.inputs['Roughness'].default_value = r
        s.b.inputs['Specular IOR Level'].default_value = spec


def clampc(c):
    return tuple(float(min(max(x, 0.015), 0.97)) for x in c)


def mulc(c, k):
    return clampc([x * k for x in c])


def make_mat(kind, c, rng, c2=None, scale=1.0):
    m = M()
    c = clampc(c)
    off = (rng.uniform(-9, 9), rng.uniform(-9, 9), rng.uniform(-9, 9))
    m.col(c)
    if kind == 'gloss':
        m.rough(rng.uniform(0.08, 0.25))
    elif kind == 'matte':
        m.rough(0.85, 0.2)
        nz = m.n('ShaderNodeTexNoise', i_Scale=40 * scale)
        m.l(m.mapv((1, 1, 1), loc=off), nz.inputs['Vector'])
        m.bump(nz.outputs['Fac'], 0.15, 0.01)
    elif kind == 'speckle':
        m.rough(0.35)
        nz = m.n('ShaderNodeTexNoise', i_Scale=38 * scale, i_Detail=2.0)
        m.l(m.mapv((1, 1, 1), loc=off), nz.inputs['Vector'])
        m.l(m.ramp(nz.outputs['Fac'], [(0, mulc(c, 0.45)), (0.33, mulc(c, 0.5)), (0.37, c), (1, c)]), m.b.inputs['Base Color'])
    elif kind == 'dip':  # two-tone glaze split by height
        m.rough(0.3)
        sx = m.n('ShaderNodeSeparateXYZ')
        m.l(m.mapv((1, 1, 1)), sx.inputs[0])
        nz = m.n('ShaderNodeTexNoise', i_Scale=4.0)
        m.l(m.tc.outputs['Object'], nz.inputs['Vector'])
        ad = m.n('ShaderNodeMath', operation='MULTIPLY_ADD')
        ad.inputs[1].default_value = 0.12
        m.l(nz.outputs['Fac'], ad.inputs[0])
        m.l(sx.outputs[2], ad.inputs[2])
        m.l(
            m.ramp(ad.outputs[0], [(0, c2 or mulc(c, 0.5)), (0.36, c2 or mulc(c, 0.5)), (0.38, c), (1, c)]),
            m.b.inputs['Base Color'],
        )
    elif kind == 'glass':
        m.rough(0.03)
        m.b.inputs['Transmission Weight'].default_value = 1
        m.b.inputs['IOR'].default_value = 1.45
        m.col(tuple(0.5 + 0.5 * x for x in c))
    elif kind == 'metal':
        m.rough(rng.uniform(0.15, 0.3))
        m.b.inputs['Metallic'].default_value = 1
    elif kind == 'wax':
        m.rough(0.45)
        m.b.inputs['Subsurface Weight'].default_value = 0.0
    elif kind in ('fabric', 'linen'):
        m.rough(0.95, 0.1)
        f = 60 * scale if kind == 'fabric' else 90 * scale
        v = m.mapv((1, 1, 1), rot=(0, 0, rng.uniform(-0.1, 0.1)), loc=off)
        w1 = m.n('ShaderNodeTexWave', i_Scale=f / 6.3, i_Distortion=1.2, i_Detail_Scale=3.0)
        w2 = m.n('ShaderNodeTexWave', i_Scale=f / 6.3, i_Distortion=1.2, i_Detail_Scale=3.0)
        w2.bands_direction = 'Y'
        m.l(v, w1.inputs['Vector'])
        m.l(v, w2.inputs['Vector'])
        ml = m.n('ShaderNodeMath', operation='MULTIPLY')
        m.l(w1.outputs['Fac'], ml.inputs[0])
        m.l(w2.outputs['Fac'], ml.inputs[1])
        nz = m.n('ShaderNodeTexNoise', i_Scale=9.0 * scale, i_Detail=5.0)
        m.l(v, nz.inputs['Vector'])
        ad = m.n('ShaderNodeMath', operation='MULTIPLY_ADD')
        ad.inputs[1].default_value = 0.5
        m.l(ml.outputs[0], ad.inputs[0])
        m.l(nz.outputs['Fac'], ad.inputs[2])
        m.l(m.ramp(ad.outputs[0], [(0.2, mulc(c, 0.78)), (0.55, c), (1, mulc(c, 1.12))]), m.b.inputs['Base Color'])
        m.bump(ml.outputs[0], 0.5, 0.012)
    elif kind == 'knit':
        m.rough(0.95, 0.1)
        v = m.mapv((1, 1, 1), src='UV')
        w = m.n('ShaderNodeTexWave', i_Scale=scale * 9.0, i_Distortion=0.0)
        m.l(v, w.inputs['Vector'])
        w2 = m.n('ShaderNodeTexWave', i_Scale=scale * 12.0, i_Distortion=2.0)
        w2.bands_direction = 'Y'
        m.l(v, w2.inputs['Vector'])
        ad = m.n('ShaderNodeMath', operation='MULTIPLY_ADD')
        ad.inputs[1].default_value = 0.6
        m.l(w2.outputs['Fac'], ad.inputs[0])
        m.l(w.outputs['Fac'], ad.inputs[2])
        m.l(m.ramp(ad.outputs[0], [(0, mulc(c, 0.6)), (0.6, c), (1, mulc(c, 1.1))]), m.b.inputs['Base Color'])
        m.bump(ad.outputs[0], 0.9, 0.05)
    elif kind == 'wood':
        m.rough(rng.uniform(0.45, 0.7), 0.3)
        st = rng.uniform(7, 14) * scale
        v = m.mapv((1 * scale, st, st), loc=off, rot=(0, 0, rng.choice([0, 0, 0.03])))
        nz = m.n('ShaderNodeTexNoise', i_Scale=1.6, i_Detail=8.0, i_Distortion=1.1)
        m.l(v, nz.inputs['Vector'])
        nz2 = m.n('ShaderNodeTexNoise', i_Scale=9.0, i_Detail=3.0)
        m.l(v, nz2.inputs['Vector'])
        ad = m.n('ShaderNodeMath', operation='MULTIPLY_ADD')
        ad.inputs[1].default_value = 0.35
        m.l(nz2.outputs['Fac'], ad.inputs[0])
        m.l(nz.outputs['Fac'], ad.inputs[2])
        m.l(m.ramp(ad.outputs[0], [(0.35, mulc(c, 0.55)), (0.62, c), (0.9, mulc(c, 1.15))]), m.b.inputs['Base Color'])
        m.bump(nz2.outputs['Fac'], 0.1, 0.01)
    elif kind == 'planks':  # plank gaps
        m.rough(0.6, 0.3)
        v = m.mapv((1, 1, 1), loc=off, rot=(0, 0, rng.choice([0, 1.5708])))
        br = m.n('ShaderNodeTexBrick', i_Scale=1.0, i_Mortar_Size=0.012, i_Brick_Width=5.0, i_Row_Height=0.55)
        m.l(v, br.inputs['Vector'])
        br.inputs['Color1'].default_value = (*lin(c), 1)
        br.inputs['Color2'].default_value = (*lin(mulc(c, 0.8)), 1)
        br.inputs['Mortar'].default_value = (*lin(mulc(c, 0.3)), 1)
        nz = m.n('ShaderNodeTexNoise', i_Scale=2.0, i_Detail=8.0)
        v2 = m.mapv((1, 12, 12), loc=off)
        m.l(v2, nz.inputs['Vector'])
        mx = m.n('ShaderNodeMix', data_type='RGBA', blend_type='MULTIPLY')
        mx.inputs[0].default_value = 0.3
        m.l(br.outputs['Color'], mx.inputs[6])
        m.l(nz.outputs['Color'], mx.inputs[7])
        m.l(mx.outputs[2], m.b.inputs['Base Color'])
    elif kind == 'tiles':
        m.rough(0.25)
        v = m.mapv((1, 1, 1), loc=off, rot=(0, 0, rng.uniform(-0.1, 0.1)))
        br = m.n('ShaderNodeTexBrick', i_Scale=1.0, i_Mortar_Size=0.015, i_Brick_Width=0.6, i_Row_Height=0.6, offset=0.0)
        m.l(v, br.inputs['Vector'])
        br.inputs['Color1'].default_value = (*lin(c), 1)
        br.inputs['Color2'].default_value = (*lin(mulc(c, 0.95)), 1)
        br.inputs['Mortar'].default_value = (*lin(mulc(c, 0.6)), 1)
        m.l(br.outputs['Color'], m.b.inputs['Base Color'])
    elif kind == 'marble':
        m.rough(0.2)
        v = m.mapv((0.8, 0.8, 0.8), loc=off, rot=(0, 0, rng.uniform(0, 3)))
        w = m.n('ShaderNodeTexWave', i_Scale=0.3, i_Distortion=11.0, i_Detail=7.0, i_Detail_Scale=1.1)
        m.l(v, w.inputs['Vector'])
        m.l(
            m.ramp(
                w.outputs['Fac'],
                [(0, mulc(c, 0.62)), (0.03, mulc(c, 0.82)), (0.12, mulc(c, 0.95)), (0.4, mulc(c, 0.98)), (1, c)],
            ),
            m.b.inputs['Base Color'],
        )
    elif kind in ('plaster', 'slate'):
        m.rough(0.8 if kind == 'plaster' else 0.5, 0.3)
        v = m.mapv((1, 1, 1), loc=off)
        nz = m.n('ShaderNodeTexNoise', i_Scale=1.3, i_Detail=9.0, i_Roughness=0.65)
        m.l(v, nz.inputs['Vector'])
        m.l(m.ramp(nz.outputs['Fac'], [(0.3, mulc(c, 0.75)), (0.7, mulc(c, 1.12))]), m.b.inputs['Base Color'])
        m.bump(nz.outputs['Fac'], 0.3, 0.05)
    elif kind == 'paper':
        m.rough(0.9, 0.1)
    elif kind == 'carpet':
        m.rough(0.95, 0.1)
        nz = m.n('ShaderNodeTexNoise', i_Scale=45.0, i_Detail=4.0)
        m.l(m.mapv((1, 1, 1), loc=off), nz.inputs['Vector'])
        m.l(m.ramp(nz.outputs['Fac'], [(0.3, mulc(c, 0.6)), (0.7, mulc(c, 1.2))]), m.b.inputs['Base Color'])
        m.bump(nz.outputs['Fac'], 0.6, 0.03)
    return m.m


def emis(c, s):
    m = M()
    e = m.n('ShaderNodeEmission')
    e.inputs[0].default_value = (*lin(c), 1)
    e.inputs[1].default_value = s
    m.l(e.outputs[0], m.t.nodes['Material Output'].inputs[0])
    return m.m


def image_mat(arr, rng):
    h, w = arr.shape[:2]
    im = bpy.data.images.new('art', w, h)
    im.pixels.foreach_set(np.dstack([arr, np.ones((h, w))]).astype(np.float32)[::-1].ravel())
    im.pack()
    m = M()
    m.rough(0.6, 0.3)
    t = m.n('ShaderNodeTexImage', image=im)
    m.l(m.tc.outputs['UV'], t.inputs['Vector'])
    m.l(t.outputs['Color'], m.b.inputs['Base Color'])
    return m.m


def to_linear(a):
    return np.where(a <= 0.04045, a / 12.92, ((a + 0.055) / 1.055) ** 2.4)


def pattern_mat(kind, seed, span, rot=0.0, n=512, gloss=None):
    """A pattern as a surface, repeated by mirroring, one picture every `span` units; returns (material, mean sRGB colour)."""
    rng = np.random.default_rng(seed)
    a = patterns.pattern(kind, rng, n)
    h, w = a.shape[:2]
    im = bpy.data.images.new('pattern', w, h)
    im.pixels.foreach_set(np.dstack([to_linear(a), np.ones((h, w))]).astype(np.float32)[::-1].ravel())
    im.pack()
    im.colorspace_settings.name = 'Non-Color'
    m = M()
    m.rough(gloss if gloss is not None else float(rng.uniform(0.25, 0.95)), float(rng.uniform(0.1, 0.5)))
    t = m.n('ShaderNodeTexImage', image=im, projection='BOX', extension='MIRROR')
    v = m.mapv((1 / span,) * 3, rot=(0, 0, rot), loc=tuple(rng.uniform(-3, 3, 3)))
    m.l(v, t.inputs['Vector'])
    m.l(t.outputs['Color'], m.b.inputs['Base Color'])
    if rng.random() < 0.6:
        m.bump(t.outputs['Color'], float(rng.uniform(0.05, 0.5)), 0.02)
    return m.m, tuple(float(x) for x in a.mean((0, 1)))


def look(r, c, kinds=None):
    """A material for a product in colour c: plain kinds or a patterned cloth or paper."""
    return make_mat(r.choice(kinds or ['gloss', 'matte', 'paper', 'fabric', 'wood', 'speckle']), c, r)
