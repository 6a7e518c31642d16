"""Quick rules for packing sizes into bins, and a quick bound. All take whole-number sizes and return indices."""

from collections.abc import Sequence

Bins = list[list[int]]


def _decreasing(sizes: Sequence[int]) -> list[int]:
    return sorted(range(len(sizes)), key=lambda index: (-sizes[index], index))


def first_fit_decreasing(sizes: Sequence[int], capacity: int) -> Bins:
    """Largest first, each into the first bin that takes it; sizes and capacity mm."""
    bins: Bins = []
    room: list[int] = []
    for index in _decreasing(sizes):
        place = next((number for number, left in enumerate(room) if left >= sizes[index]), None)
        if place is None:
            bins.append([])
            room.append(capacity)
            place = len(bins) - 1
        bins[place].append(index)
        room[place] -= sizes[index]
    return bins


def best_fit_decreasing(sizes: Sequence[int], capacity: int) -> Bins:
    """Largest first, each into the bin that it fills best; sizes and capacity mm."""
    bins: Bins = []
    room: list[int] = []
    for index in _decreasing(sizes):
        fitting = [(left, number) for number, left in enumerate(room) if left >= sizes[index]]
        place = min(fitting)[1] if fitting else len(bins)
        if not fitting:
            bins.append([])
            room.append(capacity)
        bins[place].append(index)
        room[place] -= sizes[index]
    return bins


def bin_by_bin(sizes: Sequence[int], capacity: int) -> Bins:
    """Each bin takes the largest size left and the subset of the others that fills it best (subset sums by bits)."""
    left = _decreasing(sizes)
    bins: Bins = []
    while left:
        first = left.pop(0)
        chosen = fullest([sizes[index] for index in left], capacity - sizes[first])
        bins.append([first, *(left[position] for position in chosen)])
        taken = set(chosen)
        left = [index for position, index in enumerate(left) if position not in taken]
    return bins


def fullest(sizes: Sequence[int], capacity: int) -> list[int]:
    """Positions of a subset with the largest sum up to `capacity`."""
    mask = (1 << (capacity + 1)) - 1
    sums = [1]
    for size in sizes:
        sums.append(sums[-1] | ((sums[-1] << size) & mask))
        if sums[-1] >> capacity & 1:
            break
    total = sums[-1].bit_length() - 1
    chosen = []
    for position in range(len(sums) - 2, -1, -1):
        if not sums[position] >> total & 1:
            chosen.append(position)
            total -= sizes[position]
    return chosen[::-1]


def pair_bound(sizes: Sequence[int], capacity: int) -> int:
    """Bins that no packing can undercut (the bound L2 of Martello and Toth, 1990, from memory).

    For each size k up to half the capacity: what is above capacity - k stands alone, what is above half takes a bin
    each, and what is left of k and more must go into the rest of those bins or into further ones.
    """
    best = -(-sum(sizes) // capacity)
    for k in sorted({size for size in sizes if 2 * size <= capacity} | {0}):
        alone = [size for size in sizes if size > capacity - k]
        half = [size for size in sizes if capacity - k >= size and 2 * size > capacity]
        small = sum(size for size in sizes if 2 * size <= capacity and size >= k)
        short = small - (len(half) * capacity - sum(half))
        best = max(best, len(alone) + len(half) + max(0, -(-short // capacity)))
    return best
