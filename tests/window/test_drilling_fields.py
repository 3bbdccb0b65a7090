"""What is cut today, what was measured after drilling and the shop's bits, on a real display."""

from tkinter import font

from gui.state.commands import command
from layoutkit.job.shop import Shop, load_shop, save_shop


def test_holes_are_ticked_and_measures_unfolded_and_compared(sample, hands, pump):
    p, form, view = sample.presenter, sample.form, sample.readings
    form.show_field("work.only")
    boxes = {str(box.cget("text")): box for box in form.rows["work.only"].inputs}
    middle, ring, thumb = (boxes.pop(name) for name in ("middle", "ring", "thumb"))
    assert not any(box.winfo_manager() for box in boxes.values())
    pump(lambda: middle.focus_displayof() is middle, "the keyboard in the first box")
    assert all(box.instate(["selected"]) for box in (middle, ring, thumb))
    hands.key(ring, "space")
    assert p.document.record()["work"]["only"] == ["middle", "thumb"]
    assert not ring.instate(["selected"])
    p.undo()
    pump(lambda: ring.instate(["selected"]), "the tick to come back")
    order = form.rows["work.order_of_cuts"]
    before = p.document.record()
    assert order.inputs[0].get() == "fingers first"
    hands.choose(order.inputs[0], "fingers first")
    assert p.document.record() == before
    span = form.rows["as_drilled.middle.span"]
    form.show_field("as_drilled")
    assert not span.box.winfo_ismapped()
    hands.key(form.rows["as_drilled"].inputs[0], "space")
    pump(span.box.winfo_ismapped, "the fields")
    hands.write(span.inputs[0], "4 1/2")
    assert span.words_shown == "planned 4 3/8, off by +0.125 in, beyond 1/32 in"
    view.select(view.holes)
    pump(lambda: view.holes.content.startswith("As drilled"), "the table")
    assert "middle span  4 3/8" in view.holes.content
    hands.write(span.inputs[0], "9")
    pump(lambda: "0.5 to 7 in" in span.words_shown, "the refusal")
    p.edit("bowler.grip.thumb", "no")
    pump(lambda: not thumb.winfo_ismapped(), "the thumb's box to go")


def test_bits_are_added_and_removed_from_the_keyboard(open_window, hands, pump, no_shop):
    save_shop(Shop(bits=("31/32", "3/4", "3/4")), no_shop)
    window = open_window()
    window.run(command("bits"))
    dialog = window.dialog
    pump(lambda: dialog.entry.focus_displayof() is dialog.entry, "the keyboard in the field")
    hint = dialog.hint  # its help is read whole
    assert hint.winfo_reqheight() <= hint.winfo_height()
    assert hint.winfo_reqwidth() <= hint.winfo_width()
    assert dialog.names == ("3/4", "3/4", "31/32")
    hands.write(dialog.entry, "x")
    hands.key(dialog.entry, "Return")
    assert dialog.message.cget("text").startswith('✗ "x" is not a length')
    assert str(dialog.entry.cget("style")) == "Bad.TEntry"
    hands.write(dialog.entry, "18.5 mm")
    assert dialog.message.cget("text") == ""
    hands.key(dialog.entry, "Return")
    assert dialog.names == ("18.5 mm", "3/4", "3/4", "31/32")
    assert (dialog.chosen, dialog.text.get()) == ("18.5 mm", "")
    assert load_shop(no_shop).bits == ("31/32", "3/4", "3/4", "18.5 mm")
    hands.key(dialog.tree, "Down", "Delete")
    assert load_shop(no_shop).bits == ("31/32", "18.5 mm")
    assert dialog.chosen == "31/32"
    hands.key(dialog.entry, "Alt-r")
    assert load_shop(no_shop).bits == ("18.5 mm",)
    assert dialog.winfo_width() < 1366
    assert dialog.winfo_height() < 700
    no_shop.write_text("{", encoding="utf-8")
    hands.write(dialog.entry, "1")
    hands.key(dialog.entry, "Return")
    assert "shop.json" in dialog.message.cget("text")
    assert no_shop.read_text(encoding="utf-8") == "{"
    dialog.show()
    assert dialog.buttons["add"].instate(["disabled"])
    hands.key(dialog.entry, "Escape")
    pump(lambda: not dialog.winfo_exists(), "the dialog to go")


def test_a_weight_in_pounds_and_ounces_is_read_whole(sample, pump):
    sample.form.show_field("weighings.drilled.gross")
    entry = sample.form.rows["weighings.drilled.gross"].inputs[0]
    pump(entry.winfo_viewable, "the field")
    assert font.nametofont("TkTextFont", sample).measure("14 lb 12 oz") <= entry.winfo_width() - 8
