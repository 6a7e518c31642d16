"""An independent look at a load: geometry counted anew from the boards and their places. No code of the core's."""

from collections import Counter, defaultdict

NEAR = 1e-6


def faults(boards, layout):
    """Every fault of the load as a sentence; the boards given must all be placed or left out, once each."""
    return [*_counted(boards, layout), *_inside(layout), *_overlaps(layout), *_levels(layout), *_told(layout)]


def _size(one):
    return one.stack, one.length_mm, one.width_mm, one.thickness_mm


def _counted(boards, layout):
    given = Counter(_size(one) for one in boards)
    found = Counter(_size(one) for one in (*layout.placed, *layout.unplaced))
    for size in given | found:
        if given[size] != found[size]:
            yield f"{size}: {given[size]} given, {found[size]} placed or left out"


def _inside(layout):
    space = layout.space
    for one in layout.placed:
        if min(one.x_mm, one.y_mm, one.z_mm) < -NEAR:
            yield f"{one} begins outside"
        ends = one.x_mm + one.length_mm, one.y_mm + one.width_mm, one.z_mm + one.thickness_mm
        room = space.length_mm, space.width_mm, space.height_mm
        if any(end > limit + NEAR for end, limit in zip(ends, room, strict=True)):
            yield f"{one} sticks out"
        if space.longest_board_mm is not None and one.length_mm > space.longest_board_mm:
            yield f"{one} does not pass the door"


def _overlaps(layout):
    """By a sweep along x in each layer: two boards open at once must be apart across."""
    by_layer = defaultdict(list)
    for one in layout.placed:
        by_layer[one.layer].append(one)
    for boards in by_layer.values():
        open_now = []
        for one in sorted(boards, key=lambda board: board.x_mm):
            open_now = [other for other in open_now if other.x_mm + other.length_mm > one.x_mm + NEAR]
            for other in open_now:
                if one.y_mm < other.y_mm + other.width_mm - NEAR and other.y_mm < one.y_mm + one.width_mm - NEAR:
                    yield f"{one} lies in {other}"
            open_now.append(one)


def _levels(layout):
    """Each layer of one thickness, on stickers on the one below; lanes do not share their strip."""
    top = 0.0
    for layer in layout.layers:
        boards = [one for one in layout.placed if one.layer == layer.index]
        if {one.thickness_mm for one in boards} != {layer.thickness_mm}:
            yield f"layer {layer.index}: not of one thickness"
        if {round(one.z_mm, 6) for one in boards} != {round(top + layout.space.sticker_mm, 6)}:
            yield f"layer {layer.index}: not on its stickers"
        top += layout.space.sticker_mm + layer.thickness_mm
        strips = defaultdict(list)
        for one in boards:
            strips[one.lane].append(one)
        edge = 0.0
        for lane in sorted(strips):
            if {round(one.y_mm, 6) for one in strips[lane]} != {round(edge, 6)}:
                yield f"layer {layer.index}: lane {lane} does not begin at {edge}"
            edge += max(one.width_mm for one in strips[lane])
    for below, above in zip(layout.layers, layout.layers[1:], strict=False):
        if not below.complete and above.complete:
            yield f"layer {below.index} is incomplete and carries a complete one"


def _told(layout):
    """The figures that the load gives of itself."""
    volume = sum(one.length_mm * one.width_mm * one.thickness_mm for one in layout.placed) * 1e-9
    if abs(volume - layout.volume_m3) > 1e-9:
        yield f"{layout.volume_m3} m3 said, {volume} lie there"
    if volume > layout.attainable_m3 * (1 + 1e-9):
        yield f"{volume} m3 lie there, above the bound {layout.attainable_m3}"
    if not layout.unplaced and layout.layers_bound > len(layout.layers):
        yield f"{len(layout.layers)} layers, below their bound {layout.layers_bound}"
    for layer in layout.layers:
        boards = [one for one in layout.placed if one.layer == layer.index]
        ends = {round(x, 1) for one in boards for x in (one.x_mm, one.x_mm + one.length_mm)}
        outer = {0.0, round(layout.space.length_mm, 1), round(max(ends), 1)}
        if not ends - outer <= set(layer.joints_mm):
            yield f"layer {layer.index}: an end joint is not told"
