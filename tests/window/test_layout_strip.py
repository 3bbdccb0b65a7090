"""The layout's strip above the ball, by its keys, on a real display."""

from tkinter import font


def test_a_figure_is_taken_by_return_and_given_up_by_escape(sample, hands, pump):
    p, strip = sample.presenter, sample.layout_strip
    sample.geometry("1500x900")
    pump(lambda: strip.winfo_width() > 900, "a wide window")
    assert str(strip.headings["angles"].cget("text")) == "● Angles, stated"
    entry = strip.inputs["pin_to_pap"]
    assert (entry.get(), strip.inputs["pin_over"].winfo_viewable()) == ("4 1/2", 1)
    hands.write(entry, "4")
    assert p.entry("layout.pin_to_pap") == "4 1/2"  # half typed, it changes nothing
    hands.key(entry, "Escape")
    assert entry.get() == "4 1/2"
    hands.write(entry, "4 1/4")
    hands.key(entry, "Return")
    assert p.entry("layout.pin_to_pap") == "4 1/4"
    assert sample.form.rows["layout.pin_to_pap"].value.get() == "4 1/4"
    pump(lambda: "side" in str(strip.beside.cget("text")), "what the change did, by its figures")
    heading, last = strip.headings["angles"], strip.inputs["angle_at_pap"]
    assert strip.beside.winfo_rootx() >= heading.winfo_rootx() + heading.winfo_width()
    right = strip.beside.winfo_rootx() + strip.beside.winfo_reqwidth()
    assert right <= last.winfo_rootx() + last.winfo_width()
    assert not strip.change.winfo_ismapped()
    assert "This change: " in sample.help.of(entry)
    hands.write(strip.inputs["pin_up"], "2 1/2")
    hands.key(strip.inputs["pin_up"], "Tab")
    assert (p.entry("layout.by"), p.entry("layout.pin.up")) == ("placement", "2 1/2")
    assert str(strip.headings["placement"].cget("text")) == "● Placement, stated"
    hands.write(entry, "x")
    hands.key(entry, "Return")
    assert p.entry("layout.by") == "placement"
    assert entry.get() != "x"
    hands.key(sample, "Control-z", "Control-z")
    assert not p.document.dirty
    p.edit("bowler.pap.over", "5 1/4")  # no figure of the strip
    pump(lambda: strip.change.winfo_ismapped() and not strip.beside.winfo_ismapped(), "the corner")
    assert str(strip.change.cget("text")).startswith("This change: side ")


def test_no_figure_is_cut_off_in_any_unit(sample, pump):
    strip = sample.layout_strip
    for size in ("1024x738", "1366x738"):
        sample.geometry(size)
        pump(lambda size=size: sample.winfo_width() == int(size[:4]), "the size")
        for units in ("metric", "decimal", "fraction"):
            sample.presenter.set_units(units)
            sample.update()
            for entry in strip.inputs.values():
                if entry.winfo_ismapped():
                    text = font.Font(font=entry.cget("font"), root=sample).measure(entry.get())
                    assert text <= entry.winfo_width() - 8, (size, units, entry.get())
