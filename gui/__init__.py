"""The window: plan a layout by eye and by number. `python -m gui [JOB]` opens it.

Everything the window does is decided in `gui.state.presenter`, which needs no display; the views only
bind widgets to it.
"""
