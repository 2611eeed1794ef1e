"""Frames of a drag with the preview of stress on, beside those without it in the same run."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from tests.timing import bench_frame


@pytest.mark.timing
def test_frames_with_the_stress_preview(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    lines: list[str] = []
    for case in (None, "R124 bending", "R124 rolling", None):
        times = bench_frame.measure(tmp_path / str(len(lines)), 1400, 900, 200, case)
        frame, processor = np.array(times.frame), np.array(times.processor)
        lines.append(
            f"{case or 'no stress':>14}: frame median {np.median(frame):6.2f}, p95"
            f" {np.percentile(frame, 95):6.2f} ms; processor {np.median(processor):6.2f} ms;"
            f" {times.pictures} pictures in {frame.sum() / 1e3:.1f} s"
        )
    with capsys.disabled():
        print("\n" + "\n".join(lines))
