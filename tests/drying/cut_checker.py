"""Lays a cut plan out on its boards, piece by piece, and says what is wrong with it. Shares no code with the plan."""


def faults(plan, stock, wanted, kerf_mm):
    """What makes the plan impossible or its figures wrong, in words; an empty list for a sound one."""
    found, given, used_m2, boards = [], [0.0] * len(wanted), 0.0, [0] * len(stock)
    for cut in plan.cuts:
        board = stock[cut.stock]
        boards[cut.stock] += cut.times
        used_m2 += cut.times * board.length_mm * board.width_mm / 1e6
        found += _beyond(cut, board, wanted, kerf_mm)
        for index, amount in _yields(cut, board, wanted):
            given[index] += amount * cut.times
    for number, board in zip(boards, stock, strict=True):
        if number > board.count:
            found.append(f"{number} boards are cut of {board}")
    for want, amount, short in zip(wanted, given, plan.short, strict=True):
        if amount + short < want.amount - 1e-6:
            found.append(f"{want} gets {amount} and lacks {short}")
        if want.length_mm and amount + short > want.amount + 1e-6:
            found.append(f"{want} gets {amount}: more than anyone asked for")
    if abs(used_m2 - plan.used_m2) > 1e-9:
        found.append(f"used {plan.used_m2}, counted {used_m2}")
    return found


def _beyond(cut, board, wanted, kerf_mm):
    across = -kerf_mm
    for strip in cut.strips:
        across += kerf_mm + strip.width_mm
        along = -kerf_mm
        for index in strip.pieces:
            want = wanted[index]
            along += kerf_mm + (want.length_mm or board.length_mm)
            if want.width_mm != strip.width_mm:
                yield f"{want} in a strip of {strip.width_mm}"
        if along > board.length_mm:
            yield f"{strip} ends at {along} of {board}"
    if across > board.width_mm:
        yield f"{cut} ends at {across} of {board}"
    if cut.whole is not None and cut.strips:
        yield f"{cut} is both whole and cut"


def _yields(cut, board, wanted):
    if cut.whole is not None:
        yield cut.whole, board.length_mm * board.width_mm / 1e6
    for strip in cut.strips:
        for index in strip.pieces:
            yield index, 1.0 if wanted[index].length_mm else board.length_mm / 1000
