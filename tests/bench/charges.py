"""Invented charges of boards for the loads' benchmark: seeded, every figure of them made up."""

import random

from drying.layout import Board, Space

LENGTHS_MM = (1500, 2000, 2500, 2600, 3000, 3050, 3400, 4100, 5000, 5500)


def charge(seed: int) -> tuple[list[Board], Space]:
    """Two to five stacks for one chamber: of fixed widths, of random widths (live edges at the widest place) or of
    random lengths too; one thickness, or two that may share a run; half to nine tenths of its height."""
    chance = random.Random(seed)
    space = Space(chance.choice([5300, 6200, 7250]), chance.choice([1200, 1400, 1800]), chance.choice([900, 1200]), 25)
    thickness = chance.choice([27, 32, 40, 52])
    wanted = chance.uniform(0.35, 0.62) * space.layers_of(thickness) * space.length_mm * space.width_mm
    boards: list[Board] = []
    for number in range(chance.randint(2, 5)):
        thick = thickness if chance.random() < 0.8 else round(thickness * 0.8)
        kind = chance.choice(["fixed", "fixed", "widths", "all"])
        lengths = chance.sample([one for one in LENGTHS_MM if one <= space.length_mm], chance.randint(1, 3))
        widths = sorted(chance.sample(range(100, 260, 5), 3))
        area = 0.0
        while area < wanted / 3.5:
            length = chance.randrange(1200, space.length_mm, 10) if kind == "all" else chance.choice(lengths)
            width = chance.choice(widths) if kind == "fixed" else chance.randint(90, 420)
            boards.append(Board(f"S{number}", length, width, thick))
            area += length * width
    return boards, space


def cut_layers(number: int, space: Space, thickness_mm: int, seed: int) -> list[Board]:
    """So many full layers cut into lanes, and the lanes into boards: nothing is wasted where they are found again."""
    chance = random.Random(seed)
    boards = []
    for _ in range(number):
        across = int(space.width_mm)
        while across:
            width = across if across < 200 else chance.choice([100, 120, 150])
            width = across if across - width < 80 else width
            across -= width
            along = int(space.length_mm)
            while along:
                length = along if along < 2500 else chance.randrange(1000, along - 999, 100)
                along -= length
                boards.append(Board("A", length, width, thickness_mm))
    chance.shuffle(boards)
    return boards
