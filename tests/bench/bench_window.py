"""How fast the window follows the pointer, in ratios measured in one run.

Starts an Xvfb of its own. At 1100 x 800 it turns the ball and drags the pin with real pointer events,
and takes the time from each event to the finished redraw, the server's included. Checks on the way that
what the readings show is the plan of that frame's record. The yardstick is one full redraw of the
canvas with nothing else, in the same window.
"""

from __future__ import annotations

import math
import os
import select
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path

from gui.app import App
from gui.state.readings import readings
from gui.views.ball_view import BallView
from gui.views.window import Window
from layoutkit.job.record import parse_job
from layoutkit.planning.plan import plan

SAMPLE = Path(__file__).parents[2] / "sample_bowlers" / "01_right_asymmetric.json"
SIZE = "1100x800"
FRAMES = 400
IDLE = 5.0  # seconds


def start_xvfb() -> subprocess.Popen[bytes]:
    """A server of our own, set as DISPLAY."""
    reader, writer = os.pipe()
    server = subprocess.Popen(
        ["Xvfb", "-displayfd", str(writer), "-screen", "0", "1600x1200x24", "-dpi", "96"],
        pass_fds=(writer,),
        stderr=subprocess.DEVNULL,
    )
    os.close(writer)
    told = b""
    while not told.endswith(b"\n"):
        if not select.select([reader], [], [], 20.0)[0]:
            sys.exit("Xvfb did not start")
        told += os.read(reader, 64)
    os.environ["DISPLAY"] = f":{told.decode().strip()}"
    return server


def settle(window: Window) -> None:
    """Until nothing is left to do."""
    deadline = time.perf_counter() + 1.0
    while time.perf_counter() < deadline:
        window.update()
        time.sleep(0.02)


def circle(x: int, y: int, radius: float) -> Iterator[tuple[int, int]]:
    """A way that a hand may take, in pixels."""
    for i in range(FRAMES):
        t = 2.0 * math.pi * i / 80.0
        yield round(x + radius * math.sin(t)), round(y + radius * (1.0 - math.cos(t)) * 0.7)


def to_pixel(ball: BallView, x: float, y: float) -> tuple[int, int]:
    """A place in ball radii, in pixels from the canvas's upper left."""
    (left, top), (right, bottom) = ball.to_ball(0.0, 0.0), ball.to_ball(1.0, 1.0)
    return round((x - left) / (right - left)), round((y - top) / (bottom - top))


def drag(window: Window, x: int, y: int, radius: float, check: Callable[[], None]) -> list[float]:
    """Milliseconds from each pointer event to its finished redraw."""
    canvas = window.ball.widget
    canvas.event_generate("<Button-1>", x=x, y=y)
    times = []
    for a, b in circle(x, y, radius):
        before = window.ball.frames
        start = time.perf_counter()
        canvas.event_generate("<B1-Motion>", x=a, y=b)
        window.update()
        window.winfo_pointerxy()  # an answer from the server: it has drawn
        took = time.perf_counter() - start
        if window.ball.frames > before:
            times.append(took * 1e3)
        check()
    canvas.event_generate("<ButtonRelease-1>", x=x, y=y)
    window.update()
    return times


def told(name: str, times: list[float], yardstick: float) -> None:
    ordered = sorted(times)
    median, late = statistics.median(ordered), ordered[int(0.99 * (len(ordered) - 1))]
    print(
        f"{name}: {len(times)} frames, median {median:.1f} ms, 99th percentile {late:.1f} ms, "
        f"{median / yardstick:.2f} times a full redraw"
    )


def main() -> None:
    """Print what was measured."""
    server = start_xvfb()
    try:
        with tempfile.TemporaryDirectory() as folder:
            app = App(Path(folder))
            start = time.perf_counter()
            window = app.open_window()
            window.geometry(SIZE)
            window.update()
            form = time.perf_counter() - start
            while not window.ball.frames:
                window.update()
            print(f"form after {form:.2f} s, ball after {time.perf_counter() - start:.2f} s")
            measure(window)
            window.presenter.close()
            app.root.destroy()
    finally:
        server.terminate()
        server.wait()


def measure(window: Window) -> None:
    presenter, ball = window.presenter, window.ball
    assert presenter.open(SAMPLE)
    settle(window)
    canvas = ball.widget
    print(f"window {window.winfo_width()} x {window.winfo_height()}, ", end="")
    print(f"canvas {canvas.winfo_width()} x {canvas.winfo_height()}")
    redraws = []
    for _ in range(100):
        start = time.perf_counter()
        ball.schedule()
        window.update()
        window.winfo_pointerxy()
        redraws.append((time.perf_counter() - start) * 1e3)
    yardstick = statistics.median(redraws)
    print(f"full redraw of the canvas: median {yardstick:.1f} ms")

    told(
        "turning the ball", drag(window, *to_pixel(ball, -0.6, -0.3), 60.0, lambda: None), yardstick
    )
    ball.reset()
    settle(window)

    def check() -> None:
        """Every frame's readings equal the plan of that frame's record."""
        shown = readings(plan(parse_job(presenter.document.record())), presenter.units)
        found = window.readings.readings
        assert found == shown
        for row in shown.rows:
            if row.text:
                assert window.readings.numbers.cell(row.key) == row.text
        for bar in shown.bars:
            canvas = window.readings.bars[bar.key]
            assert canvas.words == bar.text

    assert ball.shown is not None
    pin = next(s for s in ball.shown.spots if s.name == "pin")
    told("dragging the pin", drag(window, *to_pixel(ball, pin.x, pin.y), 45.0, check), yardstick)
    presenter.toggle_shading()
    settle(window)
    pin = next(s for s in ball.shown.spots if s.name == "pin")
    found = drag(window, *to_pixel(ball, pin.x, pin.y), 45.0, check)
    told("the same, shaded by where it may go", found, yardstick)
    presenter.toggle_shading()
    assert presenter.odds is None
    begun, stalls = time.perf_counter(), [0.0]
    while presenter.odds_due:
        start = time.perf_counter()
        window.update()
        stalls.append(time.perf_counter() - start)
    print(
        f"chance of an illegal ball: {(time.perf_counter() - begun) * 1e3:.0f} ms after the drag, in "
        f"pieces of at most {max(stalls) * 1e3:.0f} ms"
    )
    settle(window)
    before = time.process_time()
    window.after(round(IDLE * 1e3), window.quit)
    window.mainloop()
    print(f"idle: {(time.process_time() - before) * 1e3:.0f} ms of CPU in {IDLE:.0f} s")


if __name__ == "__main__":
    main()
