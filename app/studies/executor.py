"""One way to run many independent pieces of work: one after the other, on all cores, or on a cluster."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Executor, Future, ProcessPoolExecutor, as_completed
from contextlib import contextmanager
from multiprocessing import get_context
from typing import Any, TypeVar

from geometry.errors import GeometryError

T = TypeVar("T")

#: One process, all cores of the machine; anything else is the address of a cluster's scheduler.
SERIAL, CORES = "serial", "cores"

#: Told how many of how many are done; False cancels what is left.
Progress = Callable[[int, int], bool]


class StoppedError(Exception):
    """The work was cancelled: what had been found must not look finished."""


class _Serial(Executor):
    """Runs each piece where it is asked for."""

    def submit(self, fn: Callable[..., T], /, *args: Any, **kwargs: Any) -> Future[T]:
        future: Future[T] = Future()
        try:
            future.set_result(fn(*args, **kwargs))
        except Exception as error:
            future.set_exception(error)
        return future


@contextmanager
def opened(where: str = SERIAL, count: int | None = None) -> Iterator[Executor]:
    """Open an executor and close it again; what was not begun is dropped.

    Args:
        where: SERIAL, CORES, or the address of a running Dask scheduler, as tcp://127.0.0.1:8786.
        count: of processes for CORES; None for all cores.

    Raises:
        GeometryError: no cluster answers there, or the optional part for it is not installed.
    """
    if where == SERIAL:
        yield _Serial()
    elif where == CORES:
        # Spawned, not forked: threads of a window would be copied half way.
        with ProcessPoolExecutor(count, mp_context=get_context("spawn")) as pool:
            try:
                yield pool
            finally:
                pool.shutdown(wait=True, cancel_futures=True)
    else:
        with _client(where) as client:
            yield client.get_executor(pure=False)


def _client(address: str) -> Any:
    try:
        from distributed import Client
    except ImportError:
        raise GeometryError(
            f"The cluster at {address} needs the optional part: install blankwright[cluster]."
        ) from None
    try:
        return Client(address, timeout="10s")
    except (OSError, TimeoutError, ValueError) as error:
        raise GeometryError(
            f"No cluster answers at {address}: {error}. Start it, or use all cores."
        ) from None


def run_all(
    executor: Executor,
    work: Callable[..., T],
    jobs: Sequence[tuple[Any, ...]],
    progress: Progress | None = None,
) -> list[T]:
    """Return the results of `work(*job)` in the order of the jobs, the same on every executor.

    Args:
        executor: as `opened` gives it.
        work: a function of a module, so that other processes find it.
        jobs: arguments, one tuple each.
        progress: told after each piece.

    Raises:
        StoppedError: progress said so.
    """
    if isinstance(executor, _Serial):
        found = []
        for k, job in enumerate(jobs):
            found.append(work(*job))
            if progress is not None and not progress(k + 1, len(jobs)):
                raise StoppedError
        return found
    futures = [executor.submit(work, *job) for job in jobs]
    if progress is not None:
        for done, future in enumerate(as_completed(futures), 1):
            if future.exception() is None and progress(done, len(jobs)):
                continue
            for other in futures:
                other.cancel()
            future.result()
            raise StoppedError
    return [future.result() for future in futures]
