"""The way of working under test: the world's numbers are handed to the program by plain copying, and nothing of the truth is."""

from __future__ import annotations

from typing import Any

from bench.tracing_world.numbers import Habits, Instruments, Times, table
from bench.tracing_world.site import Site
from bench.tracing_world.world import Bag
from pullstring.trace import assumed
from pullstring.trace.scene import Scene


def scene_of(site: Site) -> Scene:
    return Scene(site.outlets, site.ends, site.bundles, site.blocks)


def prior_of(habits: Habits) -> assumed.Prior:
    return assumed.Prior(no_cable=habits.no_cable, by_count=habits.on_end, joined=habits.bridge)


def noise_of(instruments: Instruments) -> assumed.Noise:
    return assumed.Noise(
        on=instruments.connected,
        beside=instruments.neighbour,
        far=instruments.elsewhere,
        remote_hit=instruments.number_read,
        remote_false=instruments.number_ghost,
        pair_hit=instruments.pair_closed,
        pair_false=instruments.pair_ghost,
    )


def costs_of(times: Times) -> assumed.Costs:
    return assumed.Costs(
        place_s=times.put_source,
        retrieve_s=times.take_source,
        touch_s=times.probe_end,
        bundle_s=times.probe_set,
        clip_s=times.clip_end,
        mark_s=times.put_mark,
        read_s=times.read_outlet,
        tag_s=times.tag_outlet,
        enter_s=times.enter_outlet,
        walk_m_per_s=times.walking,
        stairs_s=times.stairs,
    )


def sure() -> assumed.Sure:
    return assumed.Sure(net=table()["settled_net"], none=table()["settled_none"])


def job(site: Site, bag: Bag, *, believed: Instruments, habits: Habits, times: Times) -> Any:
    """A job of the program; it believes in these instruments, whatever those of the world are."""
    from pullstring.trace.kits import Kit
    from pullstring.trace.policy import Job

    return Job(
        kit=Kit(remotes=bag.remotes, marks=bag.marks, plugs=bag.plugs, tone=bag.tone),
        scene=scene_of(site),
        travel_s=site.travel_s,
        costs=costs_of(times),
        prior=prior_of(habits),
        noise=noise_of(believed),
        sure=sure(),
    )
