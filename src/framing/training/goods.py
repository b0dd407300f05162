"""Fifty-six further kinds of product, as a craft fair sells them, and which of them are held out of training.

The order of NAMES is part of the seeds' meaning: add new kinds at the end.
"""

import goods_home
import goods_table
import goods_worn

NAMES = 'earrings necklace bracelet teacup teapot jug vase plant bear rabbit octopus cutting_board frame card macrame basket wallet tote pouch wreath tin pillars tapers melts towel scarf mittens socks booties keyring notebook toy_car pegs stacker candlestick coasters plates jam bath_bombs dropper scrunchie bow dreamcatcher ornament lamp clock cutlery birdhouse pins glasses cushion blanket tray magnets tshirt yarn'.split()
GOODS = {k: next(getattr(m, 'G_' + k) for m in (goods_worn, goods_table, goods_home) if hasattr(m, 'G_' + k)) for k in NAMES}

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
}  # seen from above only
EITHER = {'frame', 'card', 'tapers', 'cushion'}  # lie or stand
HELD_OUT = ['teapot', 'wreath', 'wallet', 'rabbit', 'scrunchie', 'birdhouse', 'cutlery', 'coasters', 'jam']  # never in training
