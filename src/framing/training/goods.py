"""All kinds of product by name: the first eleven, fifty-six as a craft fair sells them, sixteen further ones, things of no kind,
twenty-one with thin parts, fifty-seven of figures, garden and kitchen, play, and to wear, and modelled things (models.py) where their
folder is given.

Knows which are seen from above only and which are held out of training. What a set draws from, and in which order, is part of its
seeds' meaning: the older sets know FIRST and GOODS alone, so further kinds are lists of their own.
"""

import goods_adorn
import goods_fair
import goods_figures
import goods_garden
import goods_home
import goods_play
import goods_table
import goods_thin
import goods_worn
import things
from products import FIRST

NAMES = 'earrings necklace bracelet teacup teapot jug vase plant bear rabbit octopus cutting_board frame card macrame basket wallet tote pouch wreath tin pillars tapers melts towel scarf mittens socks booties keyring notebook toy_car pegs stacker candlestick coasters plates jam bath_bombs dropper scrunchie bow dreamcatcher ornament lamp clock cutlery birdhouse pins glasses cushion blanket tray magnets tshirt yarn'.split()
GOODS = {k: next(getattr(m, 'G_' + k) for m in (goods_worn, goods_table, goods_home) if hasattr(m, 'G_' + k)) for k in NAMES}

FURTHER = {**goods_fair.FAIR, **things.THINGS}
THIN = goods_thin.THIN
LATEST_FROM = (goods_figures, goods_garden, goods_play, goods_adorn)
LATEST = {k: make for m in LATEST_FROM for k, make in m.KINDS.items()}
ALL = {**FIRST, **GOODS, **FURTHER, **THIN, **LATEST}

# Seen from above only, either way, and never in training.
LYING = {
    'earrings',
    'necklace',
    'macrame',
    'wallet',
    'tote',
    'pouch',
    'wreath',
    'mittens',
    'socks',
    'keyring',
    'dreamcatcher',
    'ornament',
    'clock',
    'cutlery',
    'pins',
    'bow',
    'tshirt',
    'cutting_board',
    'melts',
    'scarf',
    'magnets',
    'spoon',
    'print',
    'bunting',
    'brush',
    'bookmark',
    'puzzle',
    'windchime',
    'house_sign',
}.union(goods_thin.LYING, *(m.LYING for m in LATEST_FROM))  # seen from above only
EITHER = {'frame', 'card', 'tapers', 'cushion'}  # lie or stand
HELD_OUT = ['teapot', 'wreath', 'wallet', 'rabbit', 'scrunchie', 'birdhouse', 'cutlery', 'coasters', 'jam']  # never in training
FURTHER_HELD_OUT = ['piggy', 'slippers', 'bouquet']  # never in training either; apart, so that the older held-out sets stay as they are
THIN_HELD_OUT = goods_thin.BEYOND  # nor these
