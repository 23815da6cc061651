"""Many cars, searched in every way, on all cores; the same seed gives the same cars and results."""

from __future__ import annotations

import gc
import math
import multiprocessing
import os
import threading
from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor, as_completed
from dataclasses import dataclass

import numpy as np

from diagnose.belief.belief import Belief, Car
from diagnose.model.library import Library
from diagnose.model.story import Story, Workshop
from diagnose.model.vehicle import Vehicle
from diagnose.trials.cars import draw, heard
from diagnose.trials.noise import perturbed
from diagnose.trials.searches import OWN, SEARCHES
from diagnose.trials.walk import Ended, Paths, Search, walk

__all__ = ["NOISY", "Batch", "Done", "batches", "carry_out", "draw_side", "draw_vehicle", "run"]

#: The program's own way with the figures off by chance, while the cars follow the true ones.
NOISY = "own, figures off"

#: Cars of one model (layout, age, distance) drawn together: they share what was worked out.
TOGETHER = 36

#: Models out of which one is drawn for a complaint: more likely those that have it more often.
OUT_OF = 5

#: A car's age when it is brought, in years, and its yearly distance in km (estimates: no new cars, no
#: vintage ones; 14 500 km a year is the mean of the trees, spread by a third).
YEARS = (4.0, 18.0)
YEARLY_KM = 14_500.0
YEARLY_SPREAD = 0.33


@dataclass(frozen=True, slots=True)
class Batch:
    """Cars of one model with one complaint. number: tells batches of one complaint apart."""

    complaint: str
    number: int
    cars: int
    seed: int
    searches: tuple[str, ...]
    noise: float


@dataclass(frozen=True)
class Done:
    """A batch with, for each way of searching, how it ended for each car."""

    batch: Batch
    vehicle: Vehicle
    ended: Mapping[str, tuple[Ended, ...]]


def batches(
    complaints: Sequence[str], cars: int, seed: int, searches: Sequence[str], noise: float
) -> list[Batch]:
    """So many cars shared out evenly over the complaints."""
    found = []
    for place, complaint in enumerate(complaints):
        count = cars // len(complaints) + (place < cars % len(complaints))
        parts = max(math.ceil(count / TOGETHER), 1)
        for number in range(parts):
            size = count // parts + (number < count % parts)
            if size:
                found.append(Batch(complaint, number, size, seed, tuple(searches), noise))
    return found


def draw_vehicle(library: Library, complaint: str, random: np.random.Generator) -> Vehicle:
    """A car as it may be brought with this complaint: layout, age and distance."""
    drawn = [_any_vehicle(library, random) for _ in range(OUT_OF)]
    side = draw_side(library, complaint, random)
    chances = []
    for vehicle in drawn:
        car = Car(library, vehicle, {complaint: side})
        chances.append(float(Belief(car, Story(vehicle, heard(car))).answer.log_evidence[0]))
    weights = np.exp(np.array(chances) - max(chances))
    return drawn[int(random.choice(len(drawn), p=weights / weights.sum()))]


def _any_vehicle(library: Library, random: np.random.Generator) -> Vehicle:
    facts = {}
    for fact in library.facts.values():
        shares = np.array([value.share for value in fact.values])
        facts[fact.id] = fact.values[int(random.choice(len(shares), p=shares / shares.sum()))].id
    years = float(random.uniform(*YEARS))
    yearly = YEARLY_KM * float(np.exp(YEARLY_SPREAD * random.standard_normal()))
    return Vehicle(facts=facts, km=round(years * yearly, -3), years=round(years))


def draw_side(library: Library, complaint: str, random: np.random.Generator) -> str | None:
    """The side that the driver names, or None for a complaint that has none."""
    return ("left", "right")[int(random.integers(2))] if library.complaints[complaint].sided else None


def carry_out(
    library: Library, batch: Batch, workshop: Workshop, ways: Mapping[str, Search] = SEARCHES
) -> Done:
    """Draw the cars of a batch and search each of them in every way, by its name in `ways`."""
    place = sorted(library.complaints).index(batch.complaint)
    random = np.random.default_rng([batch.seed, place, batch.number])
    vehicle = draw_vehicle(library, batch.complaint, random)
    side = draw_side(library, batch.complaint, random)
    car = Car(library, vehicle, {batch.complaint: side})
    cars = list(draw(car, batch.cars, random))
    ended: dict[str, tuple[Ended, ...]] = {}
    for name in batch.searches:
        paths = Paths(car, heard(car), workshop, ways[name])
        ended[name] = tuple(walk(each, paths) for each in cars)
    if batch.noise > 0.0:
        believed = Car(perturbed(library, batch.noise, random), vehicle, {batch.complaint: side})
        paths = Paths(believed, heard(believed), workshop, ways[OWN])
        ended[NOISY] = tuple(walk(each, paths) for each in cars)
    return Done(batch, vehicle, ended)


def run(
    load: Callable[[], Library], work: Sequence[Batch], workshop: Workshop, workers: int
) -> Iterator[Done]:
    """Carry out the batches on so many processes; each result as it comes.

    load: gives the library; called once in each process, so it must be known by its name there.
    """
    if workers <= 1:
        library = load()
        for batch in work:
            yield carry_out(library, batch, workshop)
        return
    # One thread each: the processes share the cores, not the threads of each numerical library.
    kept = {name: os.environ.get(name) for name in ONE_THREAD}
    os.environ.update(dict.fromkeys(ONE_THREAD, "1"))
    try:
        pool = ProcessPoolExecutor(workers, multiprocessing.get_context("spawn"), _begin, (load,))
        with pool:
            waiting = [pool.submit(_carry_out, batch, workshop) for batch in work]
            try:
                for each in as_completed(waiting):
                    yield each.result()
            except BaseException:
                for each in waiting:
                    each.cancel()
                raise
    finally:
        for name, value in kept.items():
            if value is None:
                os.environ.pop(name, None)
            else:
                os.environ[name] = value


#: What numerical libraries read to know how many threads they may use.
ONE_THREAD = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS")

_LIBRARY: list[Library] = []


def _begin(load: Callable[[], Library]) -> None:
    threading.Thread(target=_end_with_parent, daemon=True).start()
    _LIBRARY[:] = [load()]
    # The library lives as long as the process: looking through it for what can go is a waste.
    gc.freeze()


def _end_with_parent() -> None:
    """A worker whose parent was killed would wait for work for ever."""
    parent = multiprocessing.parent_process()
    assert parent is not None
    parent.join()
    os._exit(1)


def _carry_out(batch: Batch, workshop: Workshop) -> Done:
    return carry_out(_LIBRARY[0], batch, workshop)
