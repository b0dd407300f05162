#!/usr/bin/env python3
"""Seeded generator of product photographs with exact truth (Blender's Cycles through bpy 4.2).

  scenes.py --seed N --n 90 --out DIR [--set train|held|further|apart|all|wider|beyond|widest] [--spp 12] [--hdri DIR] [--only I,J] [--share K/M] [--quick] [--alone] [--plain] [--models DIR]

Writes images/NAME.jpg, masks/NAME.png (white = product), masks/NAME_ok.png (white = no room; only where a surface's end is in view)
and truth.json. Same seed, same scene. `--set held` draws only kinds and surfaces that `train` never shows. `--set further`: the sixteen
further kinds and the things of no kind (goods.FURTHER), also on the further surfaces; `--set apart`: those of them that no training shows.
`--set all`: every kind and surface but the kinds of `apart` and the further surfaces held out; what `held` shows comes twice as often.
`--set wider`: these, the kinds of goods_thin.py and, with --models, modelled things (models.py), on the same surfaces. `--set beyond`: the
six of goods_thin.py that no training shows. `--set widest`: as `wider`, and the kinds of goods.LATEST, a third of its scenes.
--plain: for measuring, scenes as plain as those of the first trial: straight ends, no hands, rivals or photographed light.
--quick renders for training at half the cost: fewer bounces and samples, no search for the largest rectangle. --alone: the product by
itself, large, with nothing beside it, for cutting out; one picture in a quarter of the time.
Needs CPython 3.11, bpy 4.2, numpy 1.26, Pillow; DIR of --hdri holds photographed surroundings (.exr) for light and rooms.
"""

import os, json, time, random, argparse, glob
import numpy as np
from PIL import Image
import goods, models, patterns, patterns_further
from products import FIRST
from stage import build, SURF, OUTLINES
from studio import idpass, beauty, develop
from truth import truth

SIZES = [(416, 278), (416, 312), (278, 416), (312, 416), (416, 234), (416, 312), (234, 416), (416, 416), (312, 416)]
ANY_VIEW = (
    'bowl',
    'soap',
    'mug',
    'teacup',
    'plates',
    'plant',
    'tin',
    'basket',
    'bath_bombs',
    'notebook',
    'box',
    'coasters',
    'tray',
    'bracelet',
    'candle',
    'yarn',
    'scrunchie',
    'towel',
    'blanket',
    'cushion',
    'frame',
    'card',
    'jam',
    'set',
    'ring',
    'glasses',
    'booties',
    'pegs',
    'toy_car',
)


HARD_OUTLINES = ['hex', 'oval', 'hex', 'cut', 'rounded', 'rect', 'oval', 'handle', 'trapezoid', 'live']
HARD_PROPS = [['rival'], ['rival', 'small'], ['hand'], ['hand', 'small'], ['hand', 'rival'], ['big', 'rival'], ['small'], ['scatter']]


def lists(which):
    """Kinds, surfaces and rivals that a set draws from. Their order is part of the seeds' meaning."""
    shown = [k for k in {**FIRST, **goods.GOODS} if k not in goods.HELD_OUT]
    surfaces = [k for k in patterns.KINDS if k not in patterns.HELD_OUT]
    unseen = [k for k in patterns.KINDS if k in patterns.HELD_OUT]
    if which == 'train':
        return shown, surfaces, shown
    if which == 'held':
        return list(goods.HELD_OUT), unseen, shown
    further = [k for k in goods.FURTHER if k not in goods.FURTHER_HELD_OUT]
    if which == 'further':
        return further, surfaces + 2 * [k for k in patterns_further.KINDS if k not in patterns_further.HELD_OUT], shown + further
    late = [k for k in patterns_further.KINDS if k not in patterns_further.HELD_OUT]
    if which in ('wider', 'beyond', 'widest'):
        thin = [k for k in goods.THIN if k not in goods.THIN_HELD_OUT]
        known = shown + further + list(goods.HELD_OUT)
        modelled = [k for k in goods.ALL if k.startswith('model:')]
        if which == 'beyond':
            return list(goods.THIN_HELD_OUT), surfaces + late + 2 * unseen, known
        if which == 'widest':
            latest = list(goods.LATEST)
            return 3 * known + 3 * thin + modelled + 4 * latest, surfaces + late + 2 * unseen, known + thin + modelled + latest
        return 2 * known + 3 * thin + modelled, surfaces + late + 2 * unseen, known + thin + modelled
    if which == 'all':
        return shown + further + 2 * list(goods.HELD_OUT), surfaces + late + 3 * unseen, shown + further
    return list(goods.FURTHER_HELD_OUT), unseen + patterns_further.HELD_OUT, shown


def any_view(kind):
    """Whether a kind is also photographed from straight above."""
    return kind in ANY_VIEW or kind in goods.FURTHER or kind in goods.THIN or kind in goods.LATEST or kind.startswith('model:')


def plan(r, which, hard=False):
    """One wish: kind, surface, view, edges, props and so on; `hard` draws more of what went wrong before."""
    held = which in ('held', 'apart')
    names, surfaces, rivals = lists(which)
    kind = r.choice(names)
    plain = list(SURF)
    if kind in goods.LYING:
        view = r.choice(['flat', 'flat', 'flat', 'board'])
    else:
        view = r.choice(['board', 'board', 'sweep', 'vboard', 'low', 'low'] + ['flat', 'flat'] * any_view(kind))
    surf = r.choice(plain) if not held and r.random() < (0.45 if view in ('sweep', 'vboard') else 0.22) else r.choice(surfaces)
    edges = []
    pl = r.choice(['centre', 'off', 'off', 'off', 'edge', 'centre', 'cut'] if r.random() < 0.8 else ['off'])
    if r.random() < 0.58:
        opts = ['left', 'right', 'far'] if view in ('sweep', 'vboard') else ['left', 'right', 'far', 'near']
        edges = r.sample(opts, min(len(opts), r.choice([1, 1, 2, 2, 3, 4])))
        pl = r.choice(['centre', 'off', 'off'])
        if view in ('sweep', 'vboard') and r.random() < 0.2:
            edges.append('near')
    props = (
        r.choice(
            [
                ['small'],
                ['scatter'],
                ['big'],
                ['big', 'small'],
                ['rival'],
                ['rival'],
                ['rival', 'small'],
                ['hand'],
                ['hand', 'big'],
            ]
        )
        if r.random() < 0.5
        else []
    )
    if hard:
        props = r.choice(HARD_PROPS) if r.random() < 0.62 else []
    h = r.uniform(0.12, 0.72)
    h = min(h, 0.55) if edges else h
    return dict(
        kind=kind,
        surf=surf,
        rooms=surfaces + ([] if held else plain),
        rivals=rivals,
        view=view,
        edges=edges,
        outline=r.choice(HARD_OUTLINES if hard else OUTLINES),
        same=hard and r.random() < 0.12,
        props=props,
        near=r.random() < 0.28,
        hfrac=h,
        place=pl,
        dof=view != 'flat' and r.random() < 0.35,
        rot=r.choice([0, r.uniform(-8, 8), r.uniform(-8, 8), r.uniform(-35, 35)])
        if view in ('flat', 'board', 'low')
        else r.uniform(-7, 7),
        wh=r.choice(SIZES),
    )


def plain(r, which):
    """The wish for one scene laid as those were that the first trial was trained and measured on."""
    names, surfaces, rivals = lists(which)
    kind = r.choice(names)
    lying = kind in goods.LYING
    view = r.choice(['flat', 'flat', 'board'] if lying else ['board', 'board', 'sweep', 'sweep', 'vboard'] + ['flat'] * any_view(kind))
    edges = r.sample(['left', 'right', 'far'] + ['near'] * (view == 'flat'), r.choice([1, 1, 2, 2, 3])) if r.random() < 0.45 else []
    return dict(
        kind=kind,
        surf=r.choice(surfaces),
        rooms=list(SURF) + ['planks'],
        rivals=rivals,
        view=view,
        edges=edges,
        outline='rect',
        props=r.choice([['small'], ['scatter'], ['big'], ['big', 'small'], ['scatter', 'small'], ['big']]) if r.random() < 0.44 else [],
        near=r.random() < 0.3,
        hfrac=r.uniform(0.12, 0.52 if edges else 0.7),
        place=r.choice(['centre', 'off', 'off'] if edges else ['centre'] * 3 + ['off'] * 5 + ['edge']),
        dof=r.random() < (0.1 if view == 'flat' else 0.4),
        rot=r.uniform(-7, 7) if r.random() < 0.6 else 0,
        wh=r.choice(SIZES),
    )


def alone(pl, r):
    """The plan of a product by itself: nothing beside it, no surface's end, as large as the frame takes."""
    return {**pl, 'edges': [], 'props': [], 'place': 'centre', 'dof': False, 'near': False, 'hfrac': 0.78, 'wh': r.choice([(288, 288), (320, 256), (256, 320)])}


def main():
    ap = argparse.ArgumentParser()
    ap.add_argument('--seed', type=int, default=301)
    ap.add_argument('--n', type=int, default=90)
    ap.add_argument('--out', required=True)
    ap.add_argument('--set', default='train', choices=['train', 'held', 'further', 'apart', 'all', 'wider', 'beyond', 'widest'])
    ap.add_argument('--spp', type=int, default=12)
    ap.add_argument('--hdri', default='')
    ap.add_argument('--hard', action='store_true', help='more hands, rivals, six-sided and oval boards, floors of the surface\'s own pattern')
    ap.add_argument('--quick', action='store_true')
    ap.add_argument('--alone', action='store_true')
    ap.add_argument('--plain', action='store_true')
    ap.add_argument('--models', default='', help='folder of packed models')
    ap.add_argument('--only', default='')
    ap.add_argument('--share', default='0/1')
    ap.add_argument('--until', type=float, default=0, help='stop starting scenes at this Unix time')
    ap.add_argument('--gather', action='store_true', help='only write truth.json')
    A = ap.parse_args()
    [os.makedirs(f'{A.out}/{d}', exist_ok=True) for d in ('images', 'masks', 'rec')]
    goods.ALL.update(models.known(A.models))
    hdris = sorted(glob.glob(A.hdri + '/*.exr')) if A.hdri and not A.plain else []
    me, of = map(int, A.share.split('/'))
    only = [int(x) for x in A.only.split(',')] if A.only else range(A.n)
    tmp = f'{A.out}/.pass_{os.getpid()}.exr'
    for i in [] if A.gather else only:
        if i % of != me:
            continue
        if A.until and time.time() > A.until:
            break
        name = f'{A.set[0]}{A.seed:03d}_{i:04d}'
        got = None
        t0 = time.time()
        for att in range(10):
            sd = A.seed * 1000003 + i * 101 + att
            r = random.Random(sd)
            lot = random.Random(A.seed * 7919 + i if att < 4 else sd)
            pl = plain(lot, A.set) if A.plain else plan(lot, A.set, A.hard)
            pl = alone(pl, random.Random(sd)) if A.alone else pl
            W, H = pl['wh']
            try:
                g = build(pl, sd, hdris)
            except Exception as e:
                print('  build', name, att, pl['kind'], pl['surf'], type(e).__name__, e, flush=True)
                continue
            if not g:
                continue
            im = idpass(g['cam'], tmp, 3 if A.quick else 8)
            t = truth(im, W, H, A.quick)
            if not t:
                continue
            T, m, bs = t
            edge = T['usable'] is not None
            if pl['edges'] and (
                not edge
                or bs.mean() < 0.015
                or bs.mean() > 0.75
                or not any(f['feasible_by_mask'] for f in T['feasible'].values())
            ):
                continue
            if not pl['edges'] and edge:
                continue
            x, y, w, h = T['subject']
            touches = x <= 1 or y <= 1 or x + w >= W - 1 or y + h >= H - 1
            if touches != (pl['place'] == 'cut') or w * h < 0.004 * W * H:
                continue
            got = g, T, m, bs
            break
        if not got:
            print('FAILED', name, pl, flush=True)
            continue
        g, T, m, bs = got
        t1 = time.time()
        develop(beauty(g['cam'], tmp, A.spp, 100, A.quick), W, H, g['albedo'], sd).save(
            f'{A.out}/images/{name}.jpg', quality=88, subsampling=1
        )
        Image.fromarray((m * 255).astype(np.uint8)).convert('1').save(f'{A.out}/masks/{name}.png', optimize=True)
        if T['usable'] is not None:
            Image.fromarray((~bs * 255).astype(np.uint8)).convert('1').save(f'{A.out}/masks/{name}_ok.png', optimize=True)
        tags = (
            ['kind:' + pl['kind'], 'surface:' + pl['surf'], 'view:' + pl['view']]
            + ['prop:' + p for p in pl['props']]
            + (['edge', 'outline:' + pl['outline']] if pl['edges'] else [])
            + (['low_contrast'] if pl['near'] else [])
            + (['dof'] if pl['dof'] else [])
            + (['cut_by_frame'] if pl['place'] == 'cut' else [])
        )
        json.dump(
            dict(
                image=f'images/{name}.jpg',
                width=W,
                height=H,
                mask=f'masks/{name}.png',
                ok_mask=f'masks/{name}_ok.png' if T['usable'] is not None else None,
                **T,
                tags=tags,
                seed=sd,
                elevation_deg=g['elev'],
            ),
            open(f'{A.out}/rec/{name}.json', 'w'),
        )
        print(
            f'{name} att={att} setup {t1 - t0:.1f}s render {time.time() - t1:.1f}s {pl["kind"]} {pl["surf"]} {pl["view"]} {pl["edges"]} {pl["props"]}',
            flush=True,
        )
    if os.path.exists(tmp):
        os.remove(tmp)
    if of == 1 or A.gather:
        recs = [json.load(open(f'{A.out}/rec/{f}')) for f in sorted(os.listdir(A.out + '/rec'))]
        json.dump(dict(set=A.set, seed=A.seed, images=recs), open(A.out + '/truth.json', 'w'), indent=1)


if __name__ == '__main__':
    main()
