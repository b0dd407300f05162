#!/usr/bin/env python3
"""Modelled things as further kinds of product: models.py OBJ_DIR OUT packs them, one .blend each; known() makes them kinds.

OBJ_DIR: the models of Debian's sweethome3d-furniture (`BlendSwap-CC-0.sh3f`, an archive; CC0): a folder for each with .obj, .mtl and
pictures. Left out: what the sets `apart` and `beyond` hold, what is cut out of its faces by a picture (its truth would be wrong), and
the very large, and plain cupboards, of which there are many. Pictures are kept at 512 px. A kind is called model:NAME.
"""

import glob, os, sys
import bpy
from mathutils import Matrix
from products import PAL
from materials import make_mat
from shapes import ground, verts_of

LEFT_OUT = {13, 24, 35, 47, 53, 55, 56, 57, 60, 66, 67, 70, 71, 77, 82, 83, 100, 111, 113, 125, 126, 130, 131, 149, 161, 162, 170, 173}  # by their place in the order of names
MOST = 6_000_000  # bytes of .obj
PLAIN = ['gloss', 'matte', 'speckle', 'wood', 'fabric', 'linen', 'metal', 'plaster', 'paper', 'marble']


def meshes():
    return [o for o in bpy.context.scene.objects if o.type == 'MESH']


def pack(source, out):
    os.makedirs(out, exist_ok=True)
    for place, d in enumerate(sorted(glob.glob(source + '/*/'))):
        name = os.path.basename(d[:-1])
        objs = sorted(glob.glob(d + '*.obj'))
        mtl = ''.join(open(f, errors='replace').read() for f in glob.glob(d + '*.mtl'))
        if place in LEFT_OUT or len(objs) != 1 or 'map_d' in mtl or os.path.getsize(objs[0]) > MOST:
            print(name, 'left out')
            continue
        bpy.ops.wm.read_factory_settings(use_empty=True)
        bpy.ops.wm.obj_import(filepath=objs[0])
        obs = meshes()
        if not obs or len(verts_of(obs)) < 24:
            print(name, 'is empty')
            continue
        for o in obs:
            o.data.transform(o.matrix_world)
            o.matrix_world = Matrix.Identity(4)
        ground(obs)
        v = verts_of(obs)
        for o in obs:
            o.data.transform(Matrix.Scale(1 / (v.max(0) - v.min(0)).max(), 4))
        for im in bpy.data.images:
            if im.size[0] > 512 or im.size[1] > 512:
                k = 512 / max(im.size)
                im.scale(max(1, int(im.size[0] * k)), max(1, int(im.size[1] * k)))
            if im.size[0]:
                im.pack()
        bpy.data.libraries.write(f'{out}/{name}.blend', set(obs), compress=False)
        print(name, len(v), os.path.getsize(f'{out}/{name}.blend'), flush=True)


def load(path):
    """Objects of a packed model, in the scene."""
    with bpy.data.libraries.load(path) as (there, here):
        here.objects = there.objects
    obs = [o for o in here.objects if o is not None and o.type == 'MESH']
    for o in obs:
        bpy.context.scene.collection.objects.link(o)
    return obs


def kind(path):
    def make(r, C):
        obs = load(path)
        k = r.random()
        if k < 0.3:  # of one or two other materials, as a maker would have it
            new = [make_mat(r.choice(PLAIN), c, r, c2=C.alt_c) for c in (C.color, r.choice([C.alt_c, r.choice(PAL)]))]
            for o in obs:
                for i in range(len(o.data.materials)):
                    o.data.materials[i] = new[(i + hash_of(o.name)) % 2]
                if not o.data.materials:
                    o.data.materials.append(new[0])
        return obs

    return make


def hash_of(name):
    return sum(map(ord, name))


def known(folder):
    """Kinds of the packed models of a folder, by name."""
    return {'model:' + os.path.basename(f)[:-6]: kind(f) for f in sorted(glob.glob(folder + '/*.blend'))} if folder else {}


if __name__ == '__main__':
    pack(*sys.argv[1:3])
