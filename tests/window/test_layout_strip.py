"""The layout's strip above the ball, by its keys, on a real display."""


def test_a_figure_is_taken_by_return_and_given_up_by_escape(sample, hands, pump):
    p, strip = sample.presenter, sample.layout_strip
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
    pump(lambda: "side" in str(strip.change.cget("text")), "what the change did")
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
