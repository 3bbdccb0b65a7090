"""The grip's table, on a real display: folds and copies; whole jobs are typed in the walks."""


def test_folded_rows_are_out_of_the_way_until_they_are_gone_to(sample, pump):
    form = sample.form
    bore = form.rows["bowler.grip.thumb.sleeve.bore"]
    form.show_group("grip")
    assert not bore.box.winfo_ismapped()
    assert str(form.table.folds["sleeve"].cget("text")) == "▸ Sleeves: thumb, middle, ring"
    sample.presenter.edit("bowler.grip.thumb.sleeve.bore", "x")
    assert bore.words_shown
    pump(bore.message.winfo_viewable, "what is wrong, under the table")
    assert str(bore.message.cget("text")).startswith("✗ Thumb, Bore diameter: ")
    sample.presenter.undo()
    form.show_field("bowler.grip.thumb.sleeve.bore")
    pump(bore.box.winfo_ismapped, "the row")
    assert sample.focus_get() is bore.inputs[0]
    assert not form.rows["bowler.grip.index.span"].box.winfo_ismapped()
    sample.presenter.edit("bowler.grip.index", "yes")
    pump(form.rows["bowler.grip.index.gap"].box.winfo_ismapped, "the index finger's column")


def test_what_an_empty_hole_lacks_comes_from_the_middle_finger_in_one_step(sample, hands):
    p = sample.presenter
    p.edit("bowler.grip.little", "yes")
    for name in ("span", "diameter"):
        p.edit(f"bowler.grip.little.{name}", "4")
    span = sample.form.rows["bowler.grip.little.span"]
    sample.form.show_field(span.field.path)
    before = dict(p.entries)
    hands.key(span.inputs[0], "Control-m")
    little, middle = (
        {k.partition(f".{d}.")[2]: v for k, v in p.entries.items() if f"grip.{d}." in k}
        for d in ("little", "middle")
    )
    assert little == {**middle, "span": "4", "diameter": "4"}
    p.undo()
    assert dict(p.entries) == before
