"""Mesh helpers of the scene generator (Blender's bpy): turned bodies, tubes, rounded boxes, blobs, slabs and their placement.

Owns the building of single objects from plain numbers; knows nothing of materials' looks, scenes or cameras.
"""

import math
import numpy as np
import bpy, bmesh
from mathutils import Vector, Matrix, noise as mnoise


def mesh(name, verts, faces, mat=None, smooth=True, uvs=None):
    me = bpy.data.meshes.new(name)
    me.from_pydata([tuple(map(float, v)) for v in verts], [], faces)
    if uvs is not None:
        lay = me.uv_layers.new(name='UVMap')
        for li, l in enumerate(me.loops):
            lay.data[li].uv = uvs[l.vertex_index]
    me.validate()
    me.update()
    if smooth:
        me.polygons.foreach_set('use_smooth', [True] * len(me.polygons))
    ob = bpy.data.objects.new(name, me)
    bpy.context.scene.collection.objects.link(ob)
    if mat:
        me.materials.append(mat)
    return ob


def resample(prof, n):
    """Catmull-Rom through the profile points (a repeated point keeps a corner)."""
    P = np.array(prof, float)
    out = []
    for i in range(len(P) - 1):
        p0 = P[max(i - 1, 0)]
        p1 = P[i]
        p2 = P[i + 1]
        p3 = P[min(i + 2, len(P) - 1)]
        for t in np.linspace(0, 1, n, endpoint=False):
            out.append(
                0.5
                * ((2 * p1) + (-p0 + p2) * t + (2 * p0 - 5 * p1 + 4 * p2 - p3) * t * t + (-p0 + 3 * p1 - 3 * p2 + p3) * t**3)
            )
    out.append(P[-1])
    return np.array(out)


def lathe(prof, mat, seg=72, n=5, wob=0.0, rng=None, smoothp=True, flute=0, fdepth=0.0):
    p = resample(prof, n) if smoothp else np.array(prof, float)
    p[:, 0] = np.maximum(p[:, 0], 0.0005)
    a = np.linspace(0, 2 * np.pi, seg, endpoint=False)
    ph = rng.uniform(0, 6) if rng else 0
    verts = []
    uvs = []
    for j, (r, z) in enumerate(p):
        k = 1 + wob * np.sin(2 * a + ph + z * 2) + (fdepth * np.abs(np.cos(flute * a / 2)) if flute else 0)
        for i in range(seg):
            verts.append((r * k[i] * math.cos(a[i]), r * k[i] * math.sin(a[i]), z))
            uvs.append((i / seg, j / len(p)))
    faces = [
        (j * seg + i, j * seg + (i + 1) % seg, (j + 1) * seg + (i + 1) % seg, (j + 1) * seg + i)
        for j in range(len(p) - 1)
        for i in range(seg)
    ]
    return mesh('lathe', verts, faces, mat, uvs=uvs)


def tube(pts, rad, mat, seg=12, flat=1.0, closed=False, caps=True):
    P = np.array(pts, float)
    n = len(P)
    rad = np.broadcast_to(np.array(rad, float), (n,))
    T = np.gradient(P, axis=0) if not closed else np.roll(P, -1, 0) - np.roll(P, 1, 0)
    T /= np.linalg.norm(T, axis=1)[:, None] + 1e-9
    up = np.array([0, 0, 1.0])
    verts = []
    for i in range(n):
        b = np.cross(T[i], up)
        if np.linalg.norm(b) < 1e-3:
            b = np.cross(T[i], [0, 1.0, 0])
        b /= np.linalg.norm(b)
        u = np.cross(b, T[i])
        for k in range(seg):
            an = 2 * np.pi * k / seg
            verts.append(P[i] + rad[i] * (math.cos(an) * b + flat * math.sin(an) * u))
    m = n if closed else n - 1
    faces = [
        (i * seg + k, i * seg + (k + 1) % seg, ((i + 1) % n) * seg + (k + 1) % seg, ((i + 1) % n) * seg + k)
        for i in range(m)
        for k in range(seg)
    ]
    if not closed and caps:
        faces += [tuple(range(seg))[::-1], tuple(range((n - 1) * seg, n * seg))]
    uvs = [(k / seg, i / n) for i in range(n) for k in range(seg)]
    return mesh('tube', verts, faces, mat, uvs=uvs)


def rbox(sx, sy, sz, bev, mat, seg=4, smooth=True):
    bm = bmesh.new()
    bmesh.ops.create_cube(bm, size=1)
    for v in bm.verts:
        v.co = Vector((v.co.x * sx, v.co.y * sy, v.co.z * sz))
    if bev > 0:
        bmesh.ops.bevel(bm, geom=bm.edges[:], offset=bev, segments=seg, profile=0.5, affect='EDGES')
    me = bpy.data.meshes.new('rbox')
    bm.to_mesh(me)
    bm.free()
    if smooth:
        me.polygons.foreach_set('use_smooth', [True] * len(me.polygons))
    ob = bpy.data.objects.new('rbox', me)
    bpy.context.scene.collection.objects.link(ob)
    if mat:
        me.materials.append(mat)
    ob.location = (0, 0, sz / 2)
    bake(ob)
    return ob


def blob(rx, ry, rz, mat, amp=0.0, freq=1.5, sub=4, seed=0, at=(0, 0, 0)):
    bm = bmesh.new()
    bmesh.ops.create_icosphere(bm, subdivisions=sub, radius=1)
    for v in bm.verts:
        n = v.co.normalized()
        k = 1 + amp * mnoise.noise(n * freq + Vector((seed, seed * 0.7, 0)))
        v.co = Vector((n.x * rx * k + at[0], n.y * ry * k + at[1], n.z * rz * k + at[2]))
    me = bpy.data.meshes.new('blob')
    bm.to_mesh(me)
    bm.free()
    me.polygons.foreach_set('use_smooth', [True] * len(me.polygons))
    ob = bpy.data.objects.new('blob', me)
    bpy.context.scene.collection.objects.link(ob)
    if mat:
        me.materials.append(mat)
    return ob


def bake(ob):
    M = ob.matrix_basis.copy()
    ob.data.transform(M)
    ob.matrix_basis = Matrix.Identity(4)


def xf(obs, M):
    for o in obs:
        o.data.transform(M)
        o.data.update()


def verts_of(obs):
    out = []
    for o in obs:
        a = np.empty(len(o.data.vertices) * 3)
        o.data.vertices.foreach_get('co', a)
        out.append(a.reshape(-1, 3))
    return np.concatenate(out)


def surf_pts(obs, seed, n=1500):
    g = np.random.default_rng(seed)
    T = []
    for o in obs:
        me = o.data
        me.calc_loop_triangles()
        k = len(me.loop_triangles)
        ix = np.empty(k * 3, np.int32)
        me.loop_triangles.foreach_get('vertices', ix)
        a = np.empty(len(me.vertices) * 3)
        me.vertices.foreach_get('co', a)
        T.append(a.reshape(-1, 3)[ix.reshape(-1, 3)])
    T = np.concatenate(T)
    A = np.linalg.norm(np.cross(T[:, 1] - T[:, 0], T[:, 2] - T[:, 0]), axis=1) + 1e-12
    i = g.choice(len(T), n, p=A / A.sum())
    u = g.random((n, 2))
    f = u.sum(1) > 1
    u[f] = 1 - u[f]
    return (T[i, 0] + (T[i, 1] - T[i, 0]) * u[:, :1] + (T[i, 2] - T[i, 0]) * u[:, 1:])[:, :2]


def move(obs, x=0, y=0, z=0, rz=0, s=1.0, rx=0, ry=0):
    M = (
        Matrix.Translation((x, y, z))
        @ Matrix.Rotation(rz, 4, 'Z')
        @ Matrix.Rotation(ry, 4, 'Y')
        @ Matrix.Rotation(rx, 4, 'X')
        @ Matrix.Scale(s, 4)
    )
    xf(obs, M)
    return obs


def ground(obs):
    v = verts_of(obs)
    xf(obs, Matrix.Translation((-(v[:, 0].min() + v[:, 0].max()) / 2, -(v[:, 1].min() + v[:, 1].max()) / 2, -v[:, 2].min())))
    return obs


def normalise(obs, size=1.0):
    ground(obs)
    v = verts_of(obs)
    d = (v.max(0) - v.min(0)).max()
    xf(obs, Matrix.Scale(size / d, 4))
    return obs


def quad(p, m, name='quad'):
    return mesh(name, p, [tuple(range(len(p)))], m, smooth=False)


def slab(poly, thick, mat, z=0.0, holes=(), side=None):
    """Prism of a flat outline (x, y points, counter-clockwise), its top at z + thick; holes are outlines too. UV = x, y."""
    me = bpy.data.curves.new('slab', 'CURVE')
    me.dimensions = '2D'
    me.fill_mode = 'BOTH'
    me.extrude = thick / 2
    for q in (poly, *holes):
        s = me.splines.new('POLY')
        s.points.add(len(q) - 1)
        s.use_cyclic_u = True
        for p, (x, y) in zip(s.points, q):
            p.co = (x, y, 0, 1)
    ob = bpy.data.objects.new('slab', me)
    bpy.context.scene.collection.objects.link(ob)
    out = bpy.data.meshes.new_from_object(ob.evaluated_get(bpy.context.evaluated_depsgraph_get()))
    bpy.data.objects.remove(ob)
    ob = bpy.data.objects.new('slab', out)
    bpy.context.scene.collection.objects.link(ob)
    out.materials.clear()
    lay = out.uv_layers.new(name='UVMap') if not out.uv_layers else out.uv_layers[0]
    for l in out.loops:
        lay.data[l.index].uv = out.vertices[l.vertex_index].co[:2]
    out.transform(Matrix.Translation((0, 0, z + thick / 2)))
    out.materials.append(mat)
    if side is not None:
        out.materials.append(side)
        for p in out.polygons:
            p.material_index = 0 if abs(p.normal.z) > 0.7 else 1
    return ob


def circle(r, n=48, cx=0.0, cy=0.0, ry=None):
    return [(cx + r * math.cos(t), cy + (ry or r) * math.sin(t)) for t in np.linspace(0, 2 * np.pi, n, endpoint=False)]


def smooth_outline(pts, n=8):
    """Closed Catmull-Rom through the points."""
    P = np.array(pts, float)
    k = len(P)
    out = []
    for i in range(k):
        p0, p1, p2, p3 = P[i - 1], P[i], P[(i + 1) % k], P[(i + 2) % k]
        for t in np.linspace(0, 1, n, endpoint=False):
            out.append(
                0.5
                * ((2 * p1) + (-p0 + p2) * t + (2 * p0 - 5 * p1 + 4 * p2 - p3) * t * t + (-p0 + 3 * p1 - 3 * p2 + p3) * t**3)
            )
    return [tuple(p) for p in out]


def rounded(w, h, r, n=6):
    """Rectangle w x h about the origin with corners of radius r."""
    out = []
    for cx, cy, a in (
        (w / 2 - r, h / 2 - r, 0),
        (-w / 2 + r, h / 2 - r, 90),
        (-w / 2 + r, -h / 2 + r, 180),
        (w / 2 - r, -h / 2 + r, 270),
    ):
        out += [(cx + r * math.cos(math.radians(a + t)), cy + r * math.sin(math.radians(a + t))) for t in np.linspace(0, 90, n)]
    return out
