"""Frames of a drag with the preview of stress on and off, by turns in one window."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from tests.timing import bench_frame


@pytest.mark.timing
def test_frames_with_the_stress_preview(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    lines: list[str] = []
    turns = (None, "R124 bending", None, "R124 rolling", None, "R124 bending", None)
    for case, times in zip(turns, bench_frame.measure_turns(tmp_path, 1400, 900, 150, turns), strict=True):
        frame, processor = np.array(times.frame), np.array(times.processor)
        lines.append(
            f"{case or 'no stress':>14}: frame median {np.median(frame):6.2f}, p95"
            f" {np.percentile(frame, 95):6.2f} ms; processor {np.median(processor):6.2f} ms;"
            f" {times.pictures} pictures in {frame.sum() / 1e3:.1f} s"
        )
    with capsys.disabled():
        print("\n" + "\n".join(lines))
