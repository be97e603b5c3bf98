"""The compiled loops of a shop's local search: works in an order to a schedule, and orders tried one after another.

`build` is a serial schedule generation scheme: work by work, each as early as its place, its hands and what stands
allow (Kolisch, Serial and parallel resource-constrained project scheduling methods revisited, 1996,
doi 10.1016/0377-2217(95)00170-0). `improve` changes the keys that works are taken by, keeps what is better or hardly
worse under a threshold that falls (Dueck and Scheuer, Threshold accepting, 1990, doi 10.1016/0021-9991(90)90201-B), and
takes the starts found as the next keys. Sources from memory.

``d`` are the shop's arrays, ``ws`` the scratch space (`nest.calendar.shop_search`).
"""

from __future__ import annotations

import numpy as np

from nest.packing.kernels.chance import below, uniform
from nest.packing.kernels.compiling import compiled


@compiled()
def clash(t, length, most, starts, ends, n):  # type: ignore[no-untyped-def]
    """Return a later start for a stay among ``n`` others in order, ``most`` at once; ``t`` itself where it fits.

    With one at a time it is the first gap that is long enough, else the first moment at which somebody has left.
    """
    for i in range(n):
        if starts[i] >= t + length:
            return t
        if ends[i] <= t:
            continue
        if most == 1:
            t = ends[i]
            continue
        # usage can be highest at t and where another stay begins
        at = t if starts[i] <= t else starts[i]
        used, soonest = 0, ends[i]
        for k in range(n):
            if starts[k] > at:
                break
            if at < ends[k]:
                used += 1
                soonest = min(soonest, ends[k])
        if used >= most:
            return soonest
    return t


@compiled()
def clash_area(t, length, area, bed, starts, ends, areas, n):  # type: ignore[no-untyped-def]
    """Return the same as `clash` where stays share the area of a bed."""
    for i in range(n):
        if starts[i] >= t + length:
            return t
        if ends[i] <= t:
            continue
        at = t if starts[i] <= t else starts[i]
        used, soonest = area, ends[i]
        for k in range(n):
            if starts[k] > at:
                break
            if at < ends[k]:
                used += areas[k]
                soonest = min(soonest, ends[k])
        if used > bed:
            return soonest
    return t


@compiled()
def hands_clash(d, ws, work, t):  # type: ignore[no-untyped-def]
    """Return the next start to try for a work's hands; ``t`` itself where an operator is free each time."""
    for h in range(d.hand_at[work], d.hand_at[work + 1]):
        first, length = d.hand_first[h], d.hand_ticks[h]
        begin = t + first
        for k in range(d.away_first.size):
            if d.away_first[k] < begin + length and d.away_end[k] > begin:
                return d.away_end[k] - first
        later = clash(begin, length, d.operators, ws.tend_first, ws.tend_end, ws.size[0])
        if later != begin:
            return later - first
    return t


@compiled()
def earliest(d, ws, work, t, machine, alone):  # type: ignore[no-untyped-def]
    """Return the earliest start from ``t`` on in one machine; ``alone``: nothing else may be in it."""
    place, length = d.place[work], d.ticks[work]
    n = ws.filled[machine]
    starts, ends, areas = ws.first[machine], ws.end[machine], ws.area[machine]
    most = 1 if alone else d.slots[place]
    bed = d.bed[place]
    while True:
        later = clash(t, length, most, starts, ends, n)
        if later == t and bed >= 0 and most > 1:
            later = clash_area(t, length, d.area[work], bed, starts, ends, areas, n)
        if later == t and d.operators > 0:
            later = hands_clash(d, ws, work, t)
        if later == t:
            return t
        t = later


@compiled()
def enter(d, ws, work, t, machine):  # type: ignore[no-untyped-def]
    """Let a work begin in a machine, with its hands; stays and hands are kept in order of their starts."""
    n = ws.filled[machine]
    while n > 0 and ws.first[machine, n - 1] > t:
        ws.first[machine, n], ws.end[machine, n] = ws.first[machine, n - 1], ws.end[machine, n - 1]
        ws.area[machine, n], ws.members[machine, n] = ws.area[machine, n - 1], ws.members[machine, n - 1]
        ws.leader[machine, n] = ws.leader[machine, n - 1]
        n -= 1
    ws.first[machine, n], ws.end[machine, n] = t, t + d.ticks[work]
    ws.area[machine, n], ws.members[machine, n], ws.leader[machine, n] = d.area[work], 1, work
    ws.filled[machine] += 1
    ws.starts[work], ws.machine[work], ws.go[work] = t, machine - d.base[d.place[work]], work
    if d.operators > 0:
        for h in range(d.hand_at[work], d.hand_at[work + 1]):
            first, k = t + d.hand_first[h], ws.size[0]
            while k > 0 and ws.tend_first[k - 1] > first:
                ws.tend_first[k], ws.tend_end[k] = ws.tend_first[k - 1], ws.tend_end[k - 1]
                k -= 1
            ws.tend_first[k], ws.tend_end[k] = first, first + d.hand_ticks[h]
            ws.size[0] += 1


@compiled()
def put(d, ws, work):  # type: ignore[no-untyped-def]
    """Start a work as early as what stands allows, in a go that is there or in one of its own."""
    place, t = d.place[work], 0
    for k in range(d.after_at[work], d.after_at[work + 1]):
        one = d.after[k]
        t = max(t, ws.starts[one] + d.ticks[one])
    joint = d.joint[place] and d.slots[place] > 1
    best, chosen = -1, -1
    for machine in range(d.base[place], d.base[place] + d.machines[place]):
        start = earliest(d, ws, work, t, machine, joint)
        if chosen < 0 or start < best:
            best, chosen = start, machine
    if joint:
        into, with_machine, begins = -1, -1, best
        for machine in range(d.base[place], d.base[place] + d.machines[place]):
            for n in range(ws.filled[machine]):
                leader = ws.leader[machine, n]
                if d.kind[leader] != d.kind[work] or d.ticks[leader] != d.ticks[work]:
                    continue
                start = ws.first[machine, n]
                if start < t or start > begins or ws.members[machine, n] >= d.slots[place]:
                    continue
                if d.bed[place] >= 0 and ws.area[machine, n] + d.area[work] > d.bed[place]:
                    continue
                into, with_machine, begins = n, machine, start
        if into >= 0:
            ws.area[with_machine, into] += d.area[work]
            ws.members[with_machine, into] += 1
            ws.starts[work], ws.go[work] = begins, ws.leader[with_machine, into]
            ws.machine[work] = with_machine - d.base[place]
            return
    enter(d, ws, work, best, chosen)


@compiled()
def build(d, ws, keys):  # type: ignore[no-untyped-def]
    """Put all works, of those that may come next always the one with the least key; return (makespan, sum of ends)."""
    count = d.place.size
    ws.filled[:] = 0
    ws.size[0] = 0
    waits, eligible, n = ws.waits, ws.eligible, 0
    for at in range(count):
        waits[at] = d.after_at[at + 1] - d.after_at[at]
        if waits[at] == 0:
            eligible[n] = at
            n += 1
    makespan, total = 0, 0
    while n > 0:
        least = 0
        for k in range(1, n):
            a, b = eligible[k], eligible[least]
            if keys[a] < keys[b] or (keys[a] == keys[b] and a < b):
                least = k
        work = eligible[least]
        n -= 1
        eligible[least] = eligible[n]
        put(d, ws, work)
        if d.last[work]:
            end = ws.starts[work] + d.ticks[work]
            makespan, total = max(makespan, end), total + end
        for k in range(d.behind_at[work], d.behind_at[work + 1]):
            one = d.behind[k]
            waits[one] -= 1
            if waits[one] == 0:
                eligible[n] = one
                n += 1
    return makespan, total


@compiled()
def exchange(d, keys, a, b):  # type: ignore[no-untyped-def]
    """Exchange the keys of two works, and of what comes behind both as long as it is at the same places."""
    while d.place[a] == d.place[b] and a != b:
        keys[a], keys[b] = keys[b], keys[a]
        if d.behind_at[a] == d.behind_at[a + 1] or d.behind_at[b] == d.behind_at[b + 1]:
            return
        a, b = d.behind[d.behind_at[a]], d.behind[d.behind_at[b]]


@compiled()
def change(d, keys, state, makespan):  # type: ignore[no-untyped-def]
    """Change some keys at random."""
    count = keys.size
    for _ in range(1 + below(state, 3)):
        a = below(state, count)
        kind = uniform(state)
        if kind < 0.4:
            keys[a] += (uniform(state) - 0.5) * 0.3 * makespan
            continue
        b = below(state, count)
        for _ in range(20):
            if d.place[b] == d.place[a] and b != a:
                break
            b = below(state, count)
        if kind < 0.7:
            keys[a], keys[b] = keys[b], keys[a]
        else:
            exchange(d, keys, a, b)


@compiled()
def improve(d, ws, state, keys, tries, bound, weight, threshold, best, goes, machines):  # type: ignore[no-untyped-def]
    """Try so many orders from ``keys`` on; write the best starts, goes and machines; return makespan and sum of ends.

    Stops early once the makespan is the bound and nothing was gained for a third of the tries.
    """
    count = keys.size
    makespan, total = build(d, ws, keys)
    now = makespan + weight * total
    top_makespan, top_total, gained = makespan, total, 0
    best[:], goes[:], machines[:] = ws.starts, ws.go, ws.machine
    current = ws.starts.astype(np.float64)
    trial = current.copy()
    for n in range(tries):
        trial[:] = current
        change(d, trial, state, top_makespan)
        makespan, total = build(d, ws, trial)
        cost = makespan + weight * total
        if cost <= now + threshold * top_makespan * (1.0 - n / tries):
            now = cost
            for at in range(count):
                current[at] = ws.starts[at]
            if makespan < top_makespan or (makespan == top_makespan and total < top_total):
                top_makespan, top_total, gained = makespan, total, n
                best[:], goes[:], machines[:] = ws.starts, ws.go, ws.machine
        if top_makespan <= bound and n - gained > tries // 3:
            break
    return top_makespan, top_total
