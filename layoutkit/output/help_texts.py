"""The help texts: what each field, reading, column and word of the trade means.

The window's tooltips, status line, "What is this?" (F1) and glossary and the handbook all show these
texts. Usual ranges are
common practice, no source. Limits come from the record's model and the rule sets. Formulas are the
library's: R is the ball's radius, W is weight, arcs are in inches.
"""

from __future__ import annotations

from dataclasses import dataclass

from layoutkit.job.record import DIGITS

COMMON = "Usual (common practice)"


@dataclass(frozen=True, slots=True)
class Explanation:
    """What a thing is, how to measure it at the bench, its usual range, and the formula of a result."""

    what: str
    bench: str
    usual: str
    formula: str = ""

    def words(self, possible: str = "") -> str:
        """The whole explanation, a paragraph each."""
        lines = [self.what, self.bench, f"{COMMON}: {self.usual}"]
        if possible:
            lines.append(f"Possible: {possible}.")
        if self.formula:
            lines.append(f"Formula: {self.formula}")
        return "\n".join(lines)


_LATERAL = Explanation(
    "Sideways pitch: how far the hole's axis passes to the right or left of the ball's centre. "
    "Right pitch leans the bottom of the hole to the right, seen from outside with the fingers up, "
    "for either hand.",
    "Set it on the drill press's pitch scale; on a drilled ball, read it with a pitch gauge.",
    "0 to 1/4 in to either side.",
)

_DRILLED_SPAN = Explanation(
    "The span as it came out, from finished edge to finished edge, inserts in place.",
    "Lay a rule along the ball from edge to edge, as the span itself is measured.",
    "within 1/32 in of the planned span.",
)
_DRILLED_DIAMETER = Explanation(
    "The finished hole's diameter as it came out, insert or slug in place.",
    "Caliper across the hole in two directions, or the plug gauge that just goes in.",
    "within 1/64 in of the planned diameter.",
)
_DRILLED_DEPTH = Explanation(
    "The hole's depth as it came out, along its axis to the end of the full diameter.",
    "Hold the depth gauge along the axis.",
    "within 1/32 in of the planned depth.",
)
_DRILLED_ALONG = Explanation(
    "The pitch along the grip as it came out. Where only one of a hole's two pitches is typed, the other "
    "counts as none.",
    "Read both pitches with a pitch gauge.",
    "within 1/32 in of the planned pitch.",
)
_DRILLED_ACROSS = Explanation(
    "The sideways pitch as it came out; right as seen from outside with the fingers up. Where only one "
    "of a hole's two pitches is typed, the other counts as none.",
    "Read both pitches with a pitch gauge.",
    "within 1/32 in of the planned pitch.",
)

# by the longest matching end of a field's path
FIELDS: dict[str, Explanation] = {
    "title": Explanation(
        "A name for this job, printed on top of the plan.",
        "Nothing to measure.",
        "bowler, ball and purpose in a few words.",
    ),
    "notes": Explanation(
        "Anything else that the plan should say.",
        "Nothing to measure.",
        "the bowler's wishes, the old ball, the thumb's shape, what to watch at the press.",
    ),
    "work.order": Explanation(
        "The shop's number for this work.", "Nothing to measure.", "as the shop counts its orders."
    ),
    "work.date": Explanation(
        "The day of the work, as year-month-day.", "Nothing to measure.", "for example 2026-11-25."
    ),
    "work.driller": Explanation(
        "Who drills the ball.", "Nothing to measure.", "a name or initials."
    ),
    "work.checked_by": Explanation(
        "Who measured the marks a second time before the bit touched the ball.",
        "Nothing to measure.",
        "somebody other than the driller.",
    ),
    "work.ball_is": Explanation(
        "Whether the ball is new, plugged or drilled before.",
        "Look for plugs and cracks all over the ball.",
        "new, plugged or the bowler's own.",
    ),
    "work.only": Explanation(
        "Which holes are cut today. What is not ticked is in the ball already: it counts in the plan, "
        "but work sheet, marking steps and paper strips leave it out.",
        "Look which holes the ball has already.",
        "all of a new ball; one where a single hole is plugged and drilled again.",
    ),
    "work.order_of_cuts": Explanation(
        "Whose holes are cut first; the sheet lists the cuts in that order.",
        "Nothing to measure; it is the shop's habit.",
        "fingers first.",
    ),
    "bowler.name": Explanation(
        "The bowler who will use the ball.", "Nothing to measure.", "a name."
    ),
    "bowler.hand": Explanation(
        "The hand that bowls. It decides which side is positive: the side of the bowler's own PAP, "
        "right for a right hand.",
        "Ask, and watch a shot.",
        "right or left.",
    ),
    "pap.over": Explanation(
        "Where the positive axis point (PAP) lies along the midline: the arc from the grip centre "
        "toward the positive side.",
        "Measure three or more marks on the first oil ring of a shot and choose Edit, PAP from the "
        "track (F7); or mark the axis and measure along the midline with a rule laid on the ball.",
        "4 to 5 1/2 in.",
    ),
    "pap.up": Explanation(
        "How far the PAP lies up from the midline toward the fingers, or down toward the thumb: the "
        "arc along the VAL.",
        "With the PAP marked, measure square to the midline with a rule laid on the ball.",
        "1 in up to 1 in down.",
    ),
    "release": Explanation(
        "Whether the record states the bowler's own release. If not, the Lane tab uses the value "
        "that the "
        "help of each box names. Those values are a convention: they compare layouts, not this "
        "bowler's shots.",
        "Film some shots, and measure the axis on the track (F7).",
        "yes, for a bowler who was measured.",
    ),
    "release.speed": Explanation(
        "The ball's speed at the foul line. Left empty it is 17 mph.",
        "Time the ball from the foul line to the head pin: 60 ft in t seconds is an average of 40.9 "
        "/ t mph. "
        "At the foul line the ball is faster by half of the speed that it loses, about 1 1/2 mph.",
        "14 to 20 mph.",
    ),
    "release.revs": Explanation(
        "How fast the ball turns at release; negative for backspin. Left empty it is 300 rpm.",
        "Put a strip of tape on the ball and count its turns in a slow film.",
        "150 to 450 rpm.",
    ),
    "axis_rotation": Explanation(
        "The angle between the ball's direction and its turning: at 0 the ball rolls straight on, "
        "at 90 it "
        "turns sideways. Left empty it is 45 degrees.",
        "Put tape on the PAP, and film the release slowly from behind.",
        "20 to 70 degrees.",
    ),
    "axis_tilt": Explanation(
        "How high the axis rises above the lane on the PAP's side. Left empty it is 15 degrees.",
        "Measure the first oil ring and press F7, which shows the tilt; or use a slow film.",
        "5 to 20 degrees.",
    ),
    "release.board": Explanation(
        "The board under the ball at the foul line, counted from the bowler's own side: the right for a "
        "right hand. Left empty it is 18; with no direction either, on a line into the pocket.",
        "Watch where the bowler lays the ball down; the middle board is 20.",
        "10 to 30.",
    ),
    "release.direction": Explanation(
        "The direction of the shot: positive toward the bowler's own gutter. Left empty it is 2 degrees; "
        "with no board either, on a line into the pocket.",
        "The board at the foul line less the board at the arrows: one board in 15 ft is 0.34 degrees.",
        "0 to 5 degrees.",
    ),
    "release.phase": Explanation(
        "How far the ball has turned about its axis at release, counted from where the grip centre "
        "is highest. "
        "Left empty it is 0.",
        "Use a slow film; the figure changes little.",
        "empty.",
    ),
    "lane": Explanation(
        "Whether the record states this house's oil and friction. If not, the Lane tab uses the "
        "value that "
        "the help of each box names, a convention for comparing layouts.",
        "Ask the house for its oil pattern.",
        "no.",
    ),
    "lane.oil_length": Explanation(
        "How far down the lane the oil reaches. Left empty it is 40 ft.",
        "Ask the house for its oil pattern.",
        "35 to 45 ft.",
    ),
    "lane.oil": Explanation(
        "The coefficient of friction between ball and oiled lane. Left empty it is 0.04.",
        "Not measured in a shop; fit it until the path looks like the bowler's.",
        "0.03 to 0.08.",
    ),
    "lane.dry": Explanation(
        "The coefficient of friction beyond the oil. Left empty it is 0.20.",
        "Not measured in a shop; fit it until the path looks like the bowler's.",
        "0.15 to 0.25.",
    ),
    "lane.table": Explanation(
        "Friction at several places down the lane, instead of oil and dry alone.",
        "Ask the house for its oil pattern; guess friction from how much oil there is.",
        "none.",
    ),
    "table.*.at": Explanation(
        "The distance from the foul line to this place.",
        "Read the distance in feet off the pattern's sheet.",
        "rising from row to row.",
    ),
    "table.*.friction": Explanation(
        "The coefficient of friction at this place.",
        "Not measured in a shop; guess it from how much oil there is.",
        "0.03 under much oil to 0.25 on a dry lane.",
    ),
    "bridge": Explanation(
        "The width of ball left between the two bored finger holes at the surface. The centreline "
        "halves it.",
        "Measure between the near edges of the two bores, along the ball.",
        "1/4 in; 3/16 to 3/8 in.",
    ),
    "as_drilled": Explanation(
        "Whether the holes were measured after drilling. What is typed takes the place of what was "
        "planned in weights, inertia and checks; the rest counts as planned. What is off is told at the "
        "field, among the holes and, where it is beyond its tolerance, among the cautions.",
        "Measure the drilled ball, inserts and slug in place.",
        "no, until the ball is drilled.",
    ),
    "as_drilled.bridge": Explanation(
        "The width of ball between the two finger holes as it came out, from cut edge to cut edge. With "
        "unequal spans that is a little more than the planned bridge, which lies square to the "
        "centreline.",
        "Lay a rule between the near edges of the two bores, the shortest way along the ball.",
        "within 1/32 in of what the cut edges were planned to be apart.",
    ),
    **{
        f"as_drilled.{digit}.{measure}": explanation
        for digit in DIGITS
        for measure, explanation in (
            ("span", _DRILLED_SPAN),
            ("diameter", _DRILLED_DIAMETER),
            ("depth", _DRILLED_DEPTH),
            ("pitch.forward", _DRILLED_ALONG),
            ("pitch.right", _DRILLED_ACROSS),
        )
        if (digit, measure) != ("thumb", "span")
    },
    "span": Explanation(
        "From the finished edge of the thumb hole to the finished edge of the finger hole, inserts in "
        "place. Without a thumb hole, from the palm mark.",
        "Lay the relaxed hand on a fitting ball, thumb in; mark the finger's joint line, and measure "
        "the arc edge to edge.",
        "3 1/2 to 5 in; middle and ring within 3/8 in of each other.",
    ),
    "diameter": Explanation(
        "The finished hole's diameter, with the insert in place.",
        "Try the finger in a sizing set; it should come out with a light drag.",
        "5/8 to 7/8 in.",
    ),
    "thumb.diameter": Explanation(
        "The finished thumb hole's diameter, with the slug in place. Of an oval hole it is the bit's.",
        "Try the thumb in a sizing set. Common practice: too tight swells or tears it, too loose makes "
        "it squeeze.",
        "7/8 to 1 1/8 in.",
    ),
    "depth": Explanation(
        "The finished hole's depth along its axis to the end of the full diameter. A drill point goes "
        "deeper.",
        "Hold the depth gauge along the axis; the work sheet gives the press's travel beside the depth.",
        "1 to 2 in.",
    ),
    "thumb.depth": Explanation(
        "The thumb hole's depth along its axis to the end of the full diameter.",
        "Hold the depth gauge along the axis; the work sheet gives the press's travel beside the depth.",
        "2 1/2 to 3 in.",
    ),
    "pitch.forward": Explanation(
        "Pitch along the grip: how far the hole's axis passes from the ball's centre. Forward pitch "
        "leans "
        "the hole's bottom toward the palm, reverse pitch away from it.",
        "Set it on the drill press's pitch scale; on a drilled ball, read it with a pitch gauge.",
        "fingers 1/4 forward to 1/4 in reverse.",
    ),
    "thumb.pitch.forward": Explanation(
        "The thumb hole's pitch along the grip. Forward pitch leans the hole's bottom toward the "
        "fingers, "
        "reverse pitch away from them.",
        "Set it on the drill press's pitch scale; on a drilled ball, read it with a pitch gauge.",
        "1/8 forward to 3/8 in reverse, more reverse with a long span.",
    ),
    "pitch.right": _LATERAL,
    "grip.thumb": Explanation(
        "Whether there is a thumb hole. Without one, spans count from the palm mark, which is the "
        "grip centre and has to be engraved.",
        "Ask how the bowler holds the ball.",
        "yes; no for most who bowl with two hands.",
    ),
    "grip.index": Explanation(
        "Whether the index finger has a hole of its own, on the outer side of the middle finger's.",
        "Ask how the bowler holds the ball.",
        "no.",
    ),
    "grip.little": Explanation(
        "Whether the little finger has a hole of its own, on the outer side of the ring finger's.",
        "Ask how the bowler holds the ball.",
        "no.",
    ),
    "gap": Explanation(
        "The width of ball left at the surface between this hole's bored edge and that of the hole "
        "beside it.",
        "Measure between the near edges of the two bores, the shortest way along the ball.",
        "1/4 to 3/4 in.",
    ),
    "used": Explanation(
        "Whether the bowler grips the ball with this hole. The rules count a hole that is not used as a "
        "balance hole.",
        "Ask, and watch the bowler pick the ball up.",
        "yes.",
    ),
    "sleeve.outer": Explanation(
        "Whether the slug stands in an outer sleeve that stays in the ball, so that it can be exchanged.",
        "Look whether the slug turns out of a sleeve around it.",
        "no; yes for a bowler whose thumb changes much, or who moves one slug from ball to ball.",
    ),
    "outer.bore": Explanation(
        "The diameter bored for the outer sleeve; at least the slug's.",
        "Measure the outer sleeve with a caliper, and add the fit that its maker asks for.",
        "1 3/8 to 1 5/8 in.",
    ),
    "outer.bore_depth": Explanation(
        "How deep the bore for the outer sleeve goes, along its axis.",
        "Hold the depth gauge along the axis.",
        "2 3/4 to 3 1/4 in.",
    ),
    "outer.length": Explanation(
        "The outer sleeve's length. Left empty it is its bore's depth.",
        "Measure the sleeve with a caliper.",
        "2 1/2 to 3 in.",
    ),
    "outer.density": Explanation(
        "The density of the outer sleeve: its weight for its volume.",
        "Weigh it, and divide by its volume; or ask the maker.",
        "1.0 to 1.3 g/cm3.",
    ),
    "thumb.inners": Explanation(
        "The thumb sleeves that the bowler exchanges in the outer sleeve. The plan can be asked with "
        "each of them.",
        "Count what the bowler carries.",
        "none, or two to four.",
    ),
    "inners.*.name": Explanation(
        "What the shop calls this sleeve.", "Nothing to measure.", "morning, evening, or a number."
    ),
    "inners.*.diameter": Explanation(
        "The finished hole's diameter in this sleeve.",
        "Caliper across the hole in two directions.",
        "7/8 to 1 1/8 in.",
    ),
    "sleeve": Explanation(
        "Whether the hole takes a finger insert: a wider bore is cut, the insert is set, and the hole "
        "is finished in it.",
        "Nothing to measure; choose with the bowler.",
        "yes for fingertip grips.",
    ),
    "thumb.sleeve": Explanation(
        "Whether the thumb hole is finished in a slug set into a wider bore.",
        "Nothing to measure; choose with the bowler.",
        "yes where the thumb is fitted often.",
    ),
    "sleeve.ready": Explanation(
        "Whether the sleeve comes with its hole, moulded: then no finishing cut is listed for it.",
        "Look at it: a ready-made one has the hole of its size.",
        "yes for finger inserts, no for a slug.",
    ),
    "sleeve.name": Explanation(
        "What the shop calls it, and its make-up. It stands on the sheet and the card.",
        "Nothing to measure.",
        "a name and a make-up.",
    ),
    "sleeve.size": Explanation(
        "The size as the shop calls it. It stands on the sheet and the card, and no figure follows "
        "from it.",
        "Read it off the box or the insert.",
        "31/32.",
    ),
    "sleeve.lift": Explanation(
        "How far the insert lifts the finger, as the shop calls it. It stands on the sheet and the card, "
        "and no figure follows from it.",
        "Read it off the box or the insert.",
        "1/8.",
    ),
    "bevel": Explanation(
        "The radius to which the hole's edge is rounded at the bench; its mass is left out.",
        "Hold a radius gauge to the edge.",
        "1/32 to 1/8 in, more at the thumb.",
    ),
    "sleeve.bore": Explanation(
        "The diameter bored for the insert; at least the finished hole's.",
        "Measure the insert with a caliper, and add the fit that its maker asks for.",
        "31/32 in.",
    ),
    "thumb.sleeve.bore": Explanation(
        "The diameter bored for the slug; at least the finished hole's.",
        "Measure the slug with a caliper, and add the fit that its maker asks for.",
        "1 1/4 to 1 1/2 in.",
    ),
    "sleeve.bore_depth": Explanation(
        "How deep the bore for the insert goes, along its axis.",
        "Hold the depth gauge along the axis.",
        "1 1/4 to 2 in; not less than the finished hole, for nobody drills through a set insert.",
    ),
    "thumb.sleeve.bore_depth": Explanation(
        "How deep the bore for the slug goes, along its axis.",
        "Hold the depth gauge along the axis.",
        "2 1/2 to 3 1/4 in; not less than the finished hole.",
    ),
    "sleeve.length": Explanation(
        "The insert's length. Left empty it is the bore's depth.",
        "Measure the insert with a caliper.",
        "1 to 1 1/2 in.",
    ),
    "thumb.sleeve.length": Explanation(
        "The slug's length. Left empty it is the bore's depth.",
        "Measure the slug with a caliper.",
        "2 1/2 to 3 in.",
    ),
    "sleeve.density": Explanation(
        "The density of the insert or slug: its weight for its volume.",
        "Weigh it, and divide by its volume; or ask the maker.",
        "1.0 to 1.3 g/cm3.",
    ),
    "tip_angle": Explanation(
        "The included angle of the drill's point. Left empty the hole has a flat bottom.",
        "Read it off the bit, or use a point gauge.",
        "empty or 180 for a flat bit, 118 or 135 for a twist drill.",
    ),
    "thumb.oval": Explanation(
        "Whether the thumb hole is longer one way than its bit. An oval hole is cut as bores that "
        "overlap, or "
        "milled. The span then runs to the oval's front edge.",
        "Look at the thumb: most are wider one way than the other.",
        "no; yes where a round hole pinches one way and is loose the other.",
    ),
    "oval.length": Explanation(
        "The finished hole's whole length along its long way, edge to edge; more than the bit.",
        "Try the thumb in an oval sizing set, or measure it both ways with a caliper.",
        "1/32 to 1/8 in more than the bit.",
    ),
    "oval.direction": Explanation(
        "The long way's angle from the grip's centreline, growing to the right seen from outside with "
        "the fingers up. Left empty it is 0: along the centreline.",
        "Mark the joint's line of the relaxed thumb, and measure with a protractor from the centreline.",
        "-45 to 45 degrees, and 90 for a hole that is wide across.",
    ),
    "oval.scallop": Explanation(
        "The height of the ridge that may stay between two bores; it decides how many there are. Left "
        "empty it is 1/64 in. Ridges have to be sanded away before a thumb goes in.",
        "Nothing to measure; it is chosen.",
        "1/64 in.",
    ),
    "oval.milled": Explanation(
        "Whether the bit is moved along the long way while it cuts, so that no ridge stays.",
        "Only on a press whose table moves under the running bit and is made for it.",
        "no.",
    ),
    "extra_holes.vents": Explanation(
        "Small holes from the surface into a gripping hole, which let air in.",
        "Count them.",
        "none, or one into the thumb hole.",
    ),
    "vents.*.hole": Explanation(
        "The gripping hole that the vent opens into.", "Nothing to measure.", "thumb."
    ),
    "vents.*.over": Explanation(
        "Where the vent starts along the midline from the grip centre, positive toward the PAP.",
        "Measure along the midline with a rule laid on the ball.",
        "1 to 2 in to either side, clear of the hole itself.",
    ),
    "vents.*.up": Explanation(
        "How far the vent's start lies up from the midline toward the fingers, or down.",
        "Measure square to the midline with a rule laid on the ball.",
        "level with the thumb hole or below it.",
    ),
    "vents.*.diameter": Explanation(
        "The vent's diameter.",
        "Read it off the bit.",
        "1/8 to 1/4 in; the limit is the rule set's.",
    ),
    "vents.*.meets": Explanation(
        "How deep down the gripping hole, along its axis, the vent meets that axis and ends.",
        "Depth gauge in the gripping hole, to the vent's opening.",
        "near the bottom of the hole.",
    ),
    "extra_holes.inspection": Explanation(
        "Whether a shallow hole is drilled straight in to look at the material, as rules allow.",
        "Nothing to measure.",
        "no.",
    ),
    "inspection.over": Explanation(
        "Where the inspection hole lies along the midline from the grip centre, positive toward the PAP.",
        "Measure along the midline with a rule laid on the ball.",
        "off the track and off the grip.",
    ),
    "inspection.up": Explanation(
        "How far the inspection hole lies up from the midline toward the fingers, or down toward "
        "the thumb.",
        "Measure square to the midline with a rule laid on the ball.",
        "off the track and off the grip.",
    ),
    "inspection.diameter": Explanation(
        "The inspection hole's diameter.",
        "Read it off the bit.",
        "1/2 to 5/8 in; the limit is the rule set's.",
    ),
    "inspection.depth": Explanation(
        "The inspection hole's depth to the end of the full diameter.",
        "Depth gauge.",
        "1/16 to 1/8 in; the limit is the rule set's.",
    ),
    "history.holes": Explanation(
        "Holes that the ball had before this work, plugged or left open. They belong to the ball and "
        "stay where they are when the layout changes.",
        "Look for them all over the ball. If a job drilled them, choose File, Redrill to copy them "
        "from that job.",
        "none on a new ball.",
    ),
    "holes.*.name": Explanation(
        "What to call the old hole; walls and cautions name it.",
        "Nothing to measure.",
        "old thumb, old middle.",
    ),
    "holes.*.from_pin": Explanation(
        "The arc from the pin to the old hole's centre at the surface.",
        "Measure with a rule laid on the ball.",
        "1 to 7 in.",
    ),
    "holes.*.bearing": Explanation(
        "The angle at the pin from the line to the reference mark (PSA, else CG) to the line to the "
        "old hole, clockwise positive seen from outside, whatever the hand.",
        "Protractor on the pin, along the line to the reference mark.",
        "anything from -180 to 180 degrees.",
    ),
    "arcs.pin": Explanation(
        "Instead of arc and bearing from the pin, give the arcs from two marks: this is the one from the "
        "pin to the old hole's centre.",
        "Measure with a rule laid on the ball, to 1/64 in.",
        "1 to 7 in.",
    ),
    "arcs.cg": Explanation(
        "The arc from the CG mark to the old hole's centre.",
        "Measure with a rule laid on the ball, to 1/64 in.",
        "1 to 7 in.",
    ),
    "arcs.psa": Explanation(
        "The arc from the PSA mark to the old hole's centre.",
        "Measure with a rule laid on the ball, to 1/64 in.",
        "1 to 7 in.",
    ),
    "arcs.grip_center": Explanation(
        "The arc from this layout's grip centre to the old hole's centre. The hole goes with the layout "
        "then, so prefer the ball's own marks.",
        "Measure with a rule laid on the ball, to 1/64 in.",
        "1 to 7 in.",
    ),
    "holes.*.side": Explanation(
        "On which side of the line from the first mark to the second the old hole lies, in the order of "
        "the fields, seen from outside.",
        "Look along the line from the first mark to the second, the ball below you.",
        "left or right.",
    ),
    "holes.*.digit": Explanation(
        "For which digit the old hole was drilled. Where the old thumb and a finger are there, pitches "
        "can be told as in a grip, forward or reverse and right or left.",
        "Look which holes belong together.",
        "middle, ring and thumb of the old grip.",
    ),
    "holes.*.toward_pin": Explanation(
        "How far the old hole's axis passes from the ball's centre: positive where its bottom leans "
        "toward the "
        "pin, negative away from it. Left empty it is 0.",
        "Put the pitch gauge in the open hole, before the hole is plugged.",
        "-3/8 to 3/8 in.",
    ),
    "holes.*.right": Explanation(
        "How far the old hole's axis passes from the ball's centre: positive where its bottom leans "
        "to the "
        "right, negative to the left, seen from outside with the pin up. Left empty it is 0.",
        "Put the pitch gauge in the open hole, before the hole is plugged.",
        "-3/8 to 3/8 in.",
    ),
    "holes.*.diameter": Explanation(
        "The diameter that was drilled: the bore's, where a sleeve was set.",
        "Caliper across the plug or the open hole.",
        "7/8 to 1 1/2 in.",
    ),
    "holes.*.depth": Explanation(
        "The depth that was drilled along the axis, to the end of the full diameter.",
        "Use a depth gauge before the hole is plugged.",
        "1 to 3 1/4 in.",
    ),
    "holes.*.plug": Explanation(
        "Whether the old hole is filled. One left open that no new hole takes over counts as a balance "
        "hole.",
        "Look at it.",
        "yes.",
    ),
    "plug.density": Explanation(
        "The density of the plug once it has cured.",
        "Cast a piece, weigh it and divide by its volume; or ask the maker.",
        "1.15 g/cm3; 1.1 to 1.25.",
    ),
    "plug.length": Explanation(
        "How far down from the surface the plug reaches. Left empty it fills the whole hole, the drill "
        "point too.",
        "Depth gauge before and after, or from how much was poured.",
        "empty.",
    ),
    "ball.name": Explanation("The ball's name.", "Read it off the ball.", "name and weight."),
    "ball.serial": Explanation(
        "The serial number that the factory engraved. The rules ask for one.",
        "Read it off the ball.",
        "letters and figures beside the name.",
    ),
    "ball.diameter": Explanation(
        "The ball's own diameter. Every arc is computed on it.",
        "Tape round the ball divided by pi, or a large caliper; measure it two ways.",
        "8.54 to 8.59 in.",
    ),
    "ball.diameter_now": Explanation(
        "The diameter of a ball that was resurfaced since. Diameter, weight, top weight, marks and RGs "
        "stay those of the label; layout, grip and old holes are those of the ball as it is now. Left "
        "empty the ball has its label's diameter.",
        "Tape round the ball divided by pi, or a large caliper; measure it two ways.",
        "empty; 0.01 to 0.05 in less than the label's.",
    ),
    "ball.weight": Explanation(
        "Gross weight of the undrilled ball.",
        "Weigh the ball before drilling; the name's weight is only its class.",
        "12 to 16 lb.",
    ),
    "ball.top_weight": Explanation(
        "The top weight on the label: how much the ball's heavy side outweighs the other with the CG "
        "mark on top, in scale ounces.",
        "Read the box, or weigh the ball on the static scale with the CG mark up.",
        "2 to 4 oz.",
    ),
    "ball.pin_to_cg": Explanation(
        "The arc from the pin to the CG mark.",
        "Measure with a rule laid on the ball; the box states a rounded figure.",
        "2 to 4 in.",
    ),
    "ball.psa": Explanation(
        "Whether the ball has a PSA mark: the end of its high RG axis, on an asymmetric ball. Without "
        "one the CG mark gives the direction.",
        "Look for the factory's mark about a quarter of the ball from the pin.",
        "yes on asymmetric balls.",
    ),
    "psa.distance": Explanation(
        "The arc from the pin to the PSA mark. The word quarter means exactly 90 degrees, which the "
        "trade calls 6 3/4 in.",
        "Measure with a rule laid on the ball.",
        "quarter, or 6 1/2 to 6 7/8 in.",
    ),
    "psa.cg_bearing": Explanation(
        "The angle at the pin from the line to the PSA mark to the line to the CG mark, clockwise "
        "positive seen from outside. It belongs to the ball, whatever the hand.",
        "Protractor on the pin, along the line to the PSA mark.",
        "-45 to 45 degrees; empty is 0.",
    ),
    "ball.rg_data": Explanation(
        "Whether the box states the radii of gyration. If not, the plan treats the ball as one uniform "
        "density, and says so.",
        "Read the box or the maker's sheet for this weight of the ball.",
        "yes for balls with a core.",
    ),
    "rg_low": Explanation(
        "The smallest radius of gyration (RG), about the axis through the pin. Common practice: small "
        "revs up early, large late.",
        "Read the box or the maker's sheet for this weight of the ball.",
        "2.46 to 2.60 in.",
    ),
    "differential": Explanation(
        "The high RG less the low RG: how much the ball can flare.",
        "Read the box or the maker's sheet for this weight of the ball.",
        "0.020 to 0.058 in.",
    ),
    "intermediate_differential": Explanation(
        "The high RG less the middle RG: how asymmetric the ball is. Left empty it is 0.",
        "Read the box or the maker's sheet; it may be called mass bias differential.",
        "0 on symmetric balls, 0.008 to 0.025 in on asymmetric ones.",
    ),
    "ball.shell": Explanation(
        "Whether the shell's thickness and density are known. If not, the plan assumes usual values, and "
        "says so.",
        "The maker's sheet, or a plug cut from the same ball.",
        "no: a box does not state it.",
    ),
    "shell.thickness": Explanation(
        "How thick the outer shell is.", "Measure it in a drilled hole.", "1/2 to 1 in."
    ),
    "shell.density": Explanation(
        "The density of the shell.", "The maker's sheet, or a weighed plug.", "1.15 to 1.25 g/cm3."
    ),
    "filler_density": Explanation(
        "The density of the filler between shell and core. If it is empty, the plan assumes a density "
        "that fits the label, and says so.",
        "The maker's sheet.",
        "empty; 0.6 to 1.0 g/cm3 where it is known.",
    ),
    "layout.by": Explanation(
        "How the layout is stated: by placing the pin, by angles or by distances. Changing it "
        "converts the numbers; the ball stays as it is.",
        "Nothing to measure.",
        "placement: it says where the pin lies under the bowler's hand.",
    ),
    "angle_at_pin": Explanation(
        "The angle at the pin from the line to the reference mark (PSA, else CG) to the line to the "
        "PAP. Common practice: small makes the ball turn sooner, large later.",
        "Protractor on the pin, along the line to the reference mark.",
        "30 to 80 degrees.",
    ),
    "pin_to_pap": Explanation(
        "The arc from the pin to the PAP. Common practice: about 3 3/8 in flares most, near 0 and near "
        "6 3/4 least.",
        "Measure with a rule laid on the ball.",
        "2 1/2 to 5 1/2 in.",
    ),
    "angle_at_pap": Explanation(
        "The angle at the PAP between the line to the pin and the finger side of the VAL. Small is a "
        "pin up above the fingers, large a pin down.",
        "Protractor on the PAP, along the VAL.",
        "20 to 70 degrees.",
    ),
    "psa_to_pap": Explanation(
        "The arc from the PSA mark to the PAP: what the angle at the pin is in a layout by distances.",
        "Measure with a rule laid on the ball.",
        "3 to 6 in.",
    ),
    "pin_to_val": Explanation(
        "The arc from the pin to the VAL, square to it: positive on the grip centre's side of the "
        "VAL, negative past it.",
        "Measure square to the VAL with a rule laid on the ball.",
        "1 to 4 in.",
    ),
    "obtuse_angle_at_pap": Explanation(
        "The same distances leave two places for the pin: angle at the PAP below 90 degrees, or above.",
        "Look whether the pin lies past the square to the VAL, on the thumb's side.",
        "no.",
    ),
    "layout.pin.over": Explanation(
        "Where the pin lies along the midline from the grip centre, positive toward the PAP.",
        "Measure along the midline with a rule laid on the ball.",
        "-1 to 3 in.",
    ),
    "layout.pin.up": Explanation(
        "How far the pin lies up from the midline toward the fingers, or down toward the thumb.",
        "Measure square to the midline with a rule laid on the ball.",
        "3 in up to 2 in down.",
    ),
    "bearing": Explanation(
        "The direction at the pin of the line to the reference mark (PSA, else CG): 0 points to the "
        "fingers' pole, and it grows toward the PAP side.",
        "Protractor on the pin, from the line that runs up square to the midline.",
        "90 to 200 degrees.",
    ),
    "scale.arm": Explanation(
        "The lever that the static scale is graduated for. Left empty it is not calibrated: each static "
        "weight is then a range, for arms from 8/15 of the ball's radius to the radius itself.",
        "Fix a known weight w on the ball's surface on the beam's axis; the reading grows by x: the "
        "arm is R w / x.",
        "not published; calibrate your own scale.",
        "arm = R w / x",
    ),
    "tolerances": Explanation(
        "Whether each measurement's tolerance is carried through the plan: the band of each weight is "
        "then two standard deviations of what they come to.",
        "Start with the usual values and put in your own where you know better.",
        "yes, where a plan is close.",
    ),
    "tolerances.marks": Explanation(
        "How far a mark may lie from its place, to either side.",
        "Mark a point twice from the same arcs and see how far the marks part.",
        "1/16 in.",
    ),
    "tolerances.spans": Explanation(
        "How far a span or the bridge may be off.",
        "Measure a finished span several times.",
        "1/32 in.",
    ),
    "tolerances.depths": Explanation(
        "How far a hole's depth may be off.",
        "Measure the depth of several holes drilled to one stop.",
        "1/32 in.",
    ),
    "tolerances.pitches": Explanation(
        "How far a pitch may be off.",
        "Read the pitch of several holes drilled to one setting.",
        "1/32 in.",
    ),
    "tolerances.diameter": Explanation(
        "How far the ball's diameter may be off.",
        "Measure it across in several directions.",
        "0.005 in.",
    ),
    "tolerances.weight": Explanation(
        "How far the label's weight may be off.",
        "Weigh undrilled balls and compare with their labels.",
        "0.01 lb.",
    ),
    "tolerances.top_weight": Explanation(
        "How far the label's top weight may be off.",
        "Weigh undrilled balls on the static scale with the CG mark up.",
        "1/4 oz.",
    ),
    "tolerances.rg": Explanation(
        "How far the label's low RG may be off.",
        "Ask the maker; it cannot be measured at the bench.",
        "0.005 in.",
    ),
    "tolerances.differential": Explanation(
        "How far either differential may be off.",
        "Ask the maker; it cannot be measured at the bench.",
        "0.002 in, near 3 % of a high one.",
    ),
    "tolerances.densities": Explanation(
        "How far the density of shell, filler or an insert may be off.",
        "Weigh a plug of the material and divide by its volume.",
        "0.05 g/cm3.",
    ),
    "tolerances.low_axis": Explanation(
        "How far the true low axis may lie from the pin's mark.",
        "It cannot be measured at the bench.",
        "up to 1 in, the most that the standard allows (USBC).",
    ),
    "tolerances.arm": Explanation(
        "How far a stated arm may be off whose own standard deviation is not stated.",
        "Calibrate the scale again some days later and see how far the arms part.",
        "0.1 in.",
    ),
    "scale.arm_sd": Explanation(
        "The standard deviation of the calibrated arm. With tolerances it widens the static weights' "
        "band; empty takes the tolerance of the arm.",
        "`layoutkit scale` prints it with the arm; more and heavier known weights make it smaller.",
        "0.02 to 0.10 in.",
    ),
    "scale.calibrated": Explanation(
        "When and from what the arm was calibrated; printed with the plan.",
        "Write it down with the arm; `layoutkit scale` keeps the shop's own arm and its date.",
        "a date and who did it.",
    ),
    "scale.supports": Explanation(
        "How far apart the two supports of the ball stand, where the ball is weighed on two supports. "
        "Two readings of a weighing are a moment by it.",
        "Measure from one support's edge to the other's.",
        "what is measured on the scale; empty where the ball lies on a pan.",
    ),
    "scale.pan_lever": Explanation(
        "The lever of the pan on which the ball is weighed, from the beam's pivot. Two readings of a "
        "weighing are a moment by it.",
        "Measure from the pivot to the middle of the pan.",
        "what is measured on the scale; empty where the ball lies on two supports.",
    ),
    "scale.reading": Explanation(
        "What half the difference of two readings gives: a moment, by the lever or the supports above, "
        "or the static weight itself, on the scale that the arm was calibrated with.",
        "Nothing to measure; the scale's own instructions say it.",
        "a moment.",
    ),
    "pairs.top": Explanation(
        "Both readings of the weighing of top weight: one way up, then turned end for end. They stand in "
        "place of the weight itself.",
        "Lay the grip centre toward the scale, level; read, turn the ball end for end, read again.",
        "two readings in oz.",
    ),
    "pairs.side": Explanation(
        "Both readings of the weighing of side weight: one way, then turned end for end. They stand in "
        "place of the weight itself.",
        "Lay the ball with the grip centre straight up and the midline along the beam; read, turn the "
        "ball end for end, read again.",
        "two readings in oz.",
    ),
    "pairs.finger": Explanation(
        "Both readings of the weighing of finger weight: one way, then turned end for end. They stand "
        "in place of the weight itself.",
        "Lay the ball with the grip centre straight up and the grip's centreline along the beam; read, "
        "turn the ball end for end, read again.",
        "two readings in oz.",
    ),
    "gross": Explanation(
        "The ball's gross weight as weighed, in pounds.",
        "Weigh the whole ball; hold it still until the reading rests.",
        "12 to 16 lb.",
    ),
    "top": Explanation(
        "Top weight as the scale shows it, with the grip's centre up; negative is bottom weight.",
        "Use the static scale with the grip centre up, then turn the ball half round, and read the "
        "difference.",
        "-1 to 4 oz.",
    ),
    "side": Explanation(
        "Side weight as the scale shows it: positive toward the PAP, negative away from it.",
        "Use the static scale with the midline along the beam.",
        "-1 to 1 oz.",
    ),
    "finger": Explanation(
        "Finger weight as the scale shows it; negative is thumb weight.",
        "Use the static scale with the grip's centreline along the beam.",
        "-1 to 1 oz.",
    ),
    "date": Explanation("The day of the weighing.", "The calendar.", "year-month-day."),
    "by": Explanation("Who weighed the ball.", "Your own name.", "one name."),
    "allowance": Explanation(
        "The scale's uncertainty, put on both sides of every static weight. Empty is 0.25 oz.",
        "Weigh the same ball several times and see how far the readings part.",
        "0.25 oz.",
    ),
    "rules": Explanation(
        "The rule set that the drilled ball is checked against. Rules change: the rule book in force "
        "on the day decides.",
        "Nothing to measure; ask under which rules the bowler competes.",
        "usbc-2020.",
    ),
}

_RULE = "Measure with a rule laid on the ball."
_ARC = "arc = R x the angle between the two marks at the ball's centre"
_OVER_UP = "over = R atan2(x, z), up = R asin(y / R)"
_SCALE_BENCH = (
    "Weigh the drilled ball on the static scale; where the outcome is close, only that counts."
)
_RG = "RG = sqrt(moment of inertia about the axis through the CG / W)"
_SWING = "No tool of the shop measures it on one ball; it follows from the label and the holes."


def _place(what: str, usual: str) -> Explanation:
    return Explanation(what, _RULE, usual, _OVER_UP)


READINGS: dict[str, Explanation] = {
    "side": Explanation(
        "Side weight: how much the side of the PAP outweighs the other; positive toward the PAP.",
        _SCALE_BENCH,
        "within 1 oz either way; the limit is the rule set's.",
        "side = first moment along the PAP side / arm",
    ),
    "finger": Explanation(
        "Finger or thumb weight: how much the finger side outweighs the thumb side; negative is "
        "thumb weight.",
        _SCALE_BENCH,
        "within 1 oz either way; the limit is the rule set's.",
        "finger = first moment toward the fingers / arm",
    ),
    "top": Explanation(
        "Top weight: how much the grip's half outweighs the half below; negative is bottom weight.",
        _SCALE_BENCH,
        "0 to 3 oz after drilling.",
        "top = first moment toward the grip centre / arm",
    ),
    "gross": Explanation(
        "The ball's whole weight, inserts set and holes finished; before is undrilled.",
        "Weigh the drilled ball.",
        "2 to 4 oz less than before; the limit is the rule set's.",
        "gross = undrilled weight - weight removed",
    ),
    "removed": Explanation(
        "The weight that drilling removes. Inserts and slugs add to the ball; bores and finished "
        "holes take from it.",
        "Weigh the ball before and after.",
        "2 to 4 oz.",
        "removed = sum of density x volume of each cut - the same of each sleeve",
    ),
    "arm": Explanation(
        "The lever of the scale, which turns moments into ounces: the record's arm, or 23/30 of the "
        "ball's radius while the scale is not calibrated: the middle of what it may be.",
        "Fix a known weight w on the ball's surface on the beam's axis; the reading grows by x.",
        "not published; calibrate your own scale.",
        "arm = R w / x",
    ),
    "angle_at_pin": Explanation(
        FIELDS["angle_at_pin"].what,
        FIELDS["angle_at_pin"].bench,
        FIELDS["angle_at_pin"].usual,
        "cos(psa_to_pap/R) = cos p cos q + sin p sin q cos(angle), p = pin_to_pap/R, q = pin_to_psa/R",
    ),
    "pin_to_pap": Explanation(FIELDS["pin_to_pap"].what, _RULE, FIELDS["pin_to_pap"].usual, _ARC),
    "angle_at_pap": Explanation(
        FIELDS["angle_at_pap"].what,
        FIELDS["angle_at_pap"].bench,
        FIELDS["angle_at_pap"].usual,
        "sin(angle at the PAP) = sin(pin_to_val/R) / sin(pin_to_pap/R)",
    ),
    "psa_to_pap": Explanation(
        FIELDS["psa_to_pap"].what,
        _RULE,
        FIELDS["psa_to_pap"].usual,
        "cos(psa_to_pap/R) = sin(pin_to_pap/R) cos(angle at the pin), with the PSA mark at a quarter",
    ),
    "pin_to_val": Explanation(
        FIELDS["pin_to_val"].what,
        FIELDS["pin_to_val"].bench,
        FIELDS["pin_to_val"].usual,
        "sin(pin_to_val/R) = sin(pin_to_pap/R) sin(angle at the PAP)",
    ),
    "pin_over": _place(FIELDS["layout.pin.over"].what, "-1 to 3 in."),
    "pin_up": _place(
        "How far the pin lies up from the midline toward the fingers; negative is down.",
        "2 in down to 3 in up.",
    ),
    "bearing": Explanation(
        FIELDS["bearing"].what,
        FIELDS["bearing"].bench,
        FIELDS["bearing"].usual,
        "bearing = direction from the pin to the PAP + angle at the pin",
    ),
    "pin_to_cg": Explanation(FIELDS["ball.pin_to_cg"].what, _RULE, "2 to 4 in.", _ARC),
    "pin_to_grip_center": Explanation(
        "The arc from the pin to the grip centre.", _RULE, "1 to 4 in.", _ARC
    ),
    "cg_to_grip_center": Explanation(
        "The arc from the CG mark to the grip centre: the farther, the more side or finger weight.",
        _RULE,
        "0 to 2 in.",
        _ARC,
    ),
    "psa_to_grip_center": Explanation(
        "The arc from the PSA mark to the grip centre.", _RULE, "3 to 6 in.", _ARC
    ),
    "cg_to_pap": Explanation("The arc from the CG mark to the PAP.", _RULE, "3 to 5 in.", _ARC),
    "cg_over": _place(
        "Where the CG mark lies along the midline from the grip centre, positive toward the PAP.",
        "-1 to 1 1/2 in.",
    ),
    "cg_up": _place(
        "How far the CG mark lies up from the midline; negative is down.", "-1 to 2 in."
    ),
    "psa_over": _place(
        "Where the PSA mark lies along the midline from the grip centre, positive toward the PAP.",
        "1 to 5 in.",
    ),
    "psa_up": _place(
        "How far the PSA mark lies up from the midline; negative is down.", "-4 to 1 in."
    ),
    "pap_over": _place(FIELDS["pap.over"].what, "4 to 5 1/2 in."),
    "pap_up": _place("How far the PAP lies up from the midline; negative is down.", "-1 to 1 in."),
    "rg_low": Explanation(
        "The smallest radius of gyration, about the CG; before is the undrilled model's, a few "
        "ten-thousandths from the label's.",
        _SWING,
        "2.46 to 2.60 in; drilling changes it by a few thousandths.",
        _RG,
    ),
    "rg_mid": Explanation(
        "The middle radius of gyration, about the CG.", _SWING, "between the low and the high.", _RG
    ),
    "rg_high": Explanation(
        "The largest radius of gyration, about the CG.", _SWING, "2.50 to 2.65 in.", _RG
    ),
    "differential": Explanation(
        "The high RG less the low RG, after drilling: how much the ball can flare.",
        _SWING,
        "0.020 to 0.060 in.",
        "differential = high RG - low RG",
    ),
    "intermediate_differential": Explanation(
        "The high RG less the middle RG, after drilling: how asymmetric the drilled ball is.",
        _SWING,
        "0 to 0.030 in.",
        "intermediate differential = high RG - middle RG",
    ),
    "low_over": Explanation(
        "Where the drilled ball's low RG axis meets the surface, along the midline: the end nearer "
        "the pin.",
        _SWING,
        "within 1 in of the pin.",
        "axis of the least moment of inertia about the CG; " + _OVER_UP,
    ),
    "low_up": Explanation(
        "Where the drilled ball's low RG axis meets the surface, up from the midline.",
        _SWING,
        "within 1 in of the pin.",
        "axis of the least moment of inertia about the CG; " + _OVER_UP,
    ),
    "high_over": Explanation(
        "Where the drilled ball's high RG axis meets the surface, along the midline: the end nearer "
        "the PSA mark, without one the end on the grip's side.",
        _SWING,
        "near the PSA mark; on a symmetric ball the holes decide.",
        "axis of the greatest moment of inertia about the CG; " + _OVER_UP,
    ),
    "high_up": Explanation(
        "Where the drilled ball's high RG axis meets the surface, up from the midline.",
        _SWING,
        "near the PSA mark; on a symmetric ball the holes decide.",
        "axis of the greatest moment of inertia about the CG; " + _OVER_UP,
    ),
    "core_pin": Explanation(
        "Half the length of the core, taken as an ellipsoid, along the pin.",
        _SWING,
        "2 1/2 to 3 1/4 in.",
        "b^2 + c^2 = 5 (W low RG^2 - I0) / m, and so on for the other two",
    ),
    "core_reference": Explanation(
        "Half the width of the core along the reference mark's direction.",
        _SWING,
        "1 3/4 to 2 1/2 in.",
        "a^2 + c^2 = 5 (W high RG^2 - I0) / m, and so on for the other two",
    ),
    "core_across": Explanation(
        "Half the width of the core square to pin and reference mark.",
        _SWING,
        "1 3/4 to 2 1/2 in.",
        "a^2 + b^2 = 5 (W middle RG^2 - I0) / m, and so on for the other two",
    ),
    "core_density": Explanation(
        "The density of the core that the label implies under the shell and filler taken.",
        _SWING,
        "1.5 to 3.8 g/cm3.",
        "core density = filler density + m / core volume, m = W - shell and filler",
    ),
    "filler_density": Explanation(
        "The density of the filler: the record's, or the one assumed.",
        "The maker's sheet.",
        "0.6 to 1.0 g/cm3.",
    ),
    "illegal": Explanation(
        "How often a ball drilled by this plan would be beyond a limit on the event's scale, where "
        "every measurement scatters within its tolerance.",
        "View, How sure the plan is, shows which input contributes most. Measure that input again, "
        "or calibrate the scale.",
        "no more than the shop is ready to risk.",
        "the part of the seeded draws of all inputs and the scale's reading that is beyond any limit",
    ),
    "weigh-in": Explanation(
        "What the scale showed, as the Scale page keeps it, beside what the plan says; the verdict is "
        "for the ball as weighed.",
        "Weigh the ball on the same scale before and after drilling.",
        "within the scale's allowance of each other; look for the reason of a larger difference.",
        "difference = measured - predicted, in ounces",
    ),
    # checks that are no bars
    "hole count": Explanation(
        "How many gripping holes there are.", "Count them.", "2 or 3.", "count <= the rule's most"
    ),
    "balance holes": Explanation(
        "Holes that no finger uses: old holes that are left open and that no new hole takes over.",
        "Count them.",
        "none.",
        "count <= the rule's most",
    ),
    "vent holes": Explanation(
        "Small holes that let air into a gripping hole: their number, and where that is allowed the "
        "widest one's diameter.",
        "Count them, and read the bit.",
        "none or one in the thumb hole.",
        "count <= the rule's most for each gripping hole",
    ),
    "vents of one hole": Explanation(
        "The most vents that open into one gripping hole; shown only if that is too many.",
        "Count them.",
        "one.",
        "count <= the rule's most",
    ),
    "inspection hole": Explanation(
        "The inspection hole's diameter, or how many there are where that is too many.",
        "Read the bit.",
        "none.",
        "diameter <= the rule's most",
    ),
    "inspection hole depth": Explanation(
        "The inspection hole's depth.", "Depth gauge.", "none.", "depth <= the rule's most"
    ),
    "drillable": Explanation(
        "Whether the ball can be drilled at all: no hole comes out of the far side, no two open holes "
        "meet at the surface, no sleeve is as wide as its hole, and something is drilled.",
        "The plan works it out; the reason stands above the checks.",
        "yes.",
    ),
    "diameter": Explanation(
        "The ball's diameter against the rules' range for a new ball. Whether the range binds a ball "
        "that was resurfaced since is not known, so it is close.",
        "Calipers, across the ball in several directions.",
        "8.500 to 8.595 in.",
    ),
    "palm mark": Explanation(
        "The mark that shows how a ball without a thumb hole is held.",
        "Look for the plus sign at the grip centre.",
        "engraved on every ball without a thumb hole.",
    ),
    "serial": Explanation(
        "Whether the record has the ball's serial number.",
        "Read it off the ball.",
        "on every ball.",
    ),
}

# by the name of a map's figure
MAPS: dict[str, Explanation] = {
    "side_oz": READINGS["side"],
    "top_oz": READINGS["top"],
    "finger_oz": READINGS["finger"],
    "differential": READINGS["differential"],
    "intermediate_differential": READINGS["intermediate_differential"],
    "flare": Explanation(
        "How far the axis would migrate over the ball in the first revolution of a freely spinning ball. "
        "The figure "
        "compares layouts, and promises nothing about a lane.",
        "Nothing to measure; the oil rings of a thrown ball show the flare on a lane.",
        "the more, the farther the rings lie apart; none with the PAP on one of the RG axes.",
        "Euler's equations of a free ball with all three RGs, over one turn about the PAP",
    ),
}

_FILM = "Watch or film some shots; the average of several is what can be compared."
# by the name of a shot's figure
LANE: dict[str, Explanation] = {
    "board at the pins": Explanation(
        "The board under the ball at the head pin, counted from the bowler's own side.",
        _FILM,
        "17 to 18 for a strike; the pocket lies half a board beside 17.",
    ),
    "entry angle": Explanation(
        "The angle between the ball's path at the head pin and the lane.", _FILM, "3 to 7 degrees."
    ),
    "board at the arrows": Explanation(
        "The board under the ball 15 ft down the lane.", _FILM, "5 to 20."
    ),
    "breakpoint": Explanation(
        "How far down the lane the path is farthest out, before the ball comes back.",
        _FILM,
        "35 to 45 ft, near the end of the oil.",
    ),
    "board at the breakpoint": Explanation(
        "The board under the ball where the path is farthest out.", _FILM, "3 to 15."
    ),
    "skid": Explanation(
        "How far the ball slides on the oil.",
        _FILM,
        "to the end of the oil.",
    ),
    "hook": Explanation(
        "How far the ball still slides beyond the oil while its path bends, until it rolls without slip.",
        _FILM,
        "8 to 20 ft.",
    ),
    "speed at the pins": Explanation(
        "The ball's speed at the head pin.",
        "The lane's own display.",
        "2 to 5 mph below the release.",
    ),
    "revs at the pins": Explanation(
        "How fast the ball turns at the head pin.",
        "A strip of tape and a slow film.",
        "more than at release: friction turns sliding into turning.",
        "once it rolls: speed / R, as turns a minute",
    ),
    "flare width": Explanation(
        "From the first to the last ring of the track on the oil, where they are widest apart.",
        "Measure across the oil rings of a thrown ball with a rule laid on it.",
        "1 to 6 in.",
        "R x (angle between the two axes + difference of the rings' radii)",
    ),
    "aim": Explanation(
        "Where to stand and what to aim at so that this ball enters the pocket under this release, with "
        "the path farthest out on the board that the length of the oil asks for. The kept plan's ball "
        "has a line of its own.",
        "Have the bowler throw some shots there; move with the ball.",
        "17.5 at the head pin is the pocket; the oil's length in feet less 31 is the outermost board.",
    ),
    "why": Explanation(
        "What of the two balls bears on how differently they roll, and whether friction and release "
        "matter more.",
        "Throw both balls on the same oil; the rings show the flare.",
        "two layouts of one ball differ in flare more than in their paths.",
    ),
}

# by the heading of a table's column
COLUMNS: dict[str, Explanation] = {
    "size": Explanation(
        "The diameter that is cut.", "Caliper on the bit.", "as the record states it."
    ),
    "bit (in)": Explanation(
        "The stocked inch bit for that size; ~ marks a bit of nearly that size.",
        "Read it off the bit.",
        "bits in steps of 1/64 in.",
        "nearest 1/64 in",
    ),
    "point": Explanation(
        "The drill point's included angle, or flat.", "Point gauge.", "flat, 118 or 135."
    ),
    "depth": Explanation(
        "Along the axis to the end of the full diameter.", "Depth gauge.", "fingers 1 to 2 in."
    ),
    "travel": Explanation(
        "The setting of the press's stop: the way from the bit's first touch of the ball to the end "
        "of the "
        "cut.",
        "The press's depth stop, set at the first touch.",
        "depth, and more for a point or a tilted bit.",
        "travel = end of the cut - first touch, along the axis",
    ),
    "forward/reverse": Explanation(
        "Pitch along the grip.", "The press's pitch scale.", "1/4 forward to 3/8 in reverse."
    ),
    "right/left": Explanation(
        "Sideways pitch, seen from outside with the fingers up.",
        "The press's pitch scale.",
        "0 to 1/4 in.",
    ),
    "tilt": Explanation(
        "By how many degrees the axis leans off the line to the ball's centre.",
        "A protractor on the press's table.",
        "0 to 5 degrees.",
        "tilt = asin(sqrt(forward^2 + right^2) / R)",
    ),
    "over": _place(
        "Where the hole's centre lies along the midline, positive toward the PAP.", "-1 to 1 in."
    ),
    "up": _place("Where the hole's centre lies up from the midline; negative is down.", "-3 to 3 in."),
    "span": Explanation(
        FIELDS["span"].what, FIELDS["span"].bench, FIELDS["span"].usual
    ),
    "span to bored edges": Explanation(
        "The span between the bores' edges, before inserts and slug are set: what can be measured on "
        "the bored ball.",
        _RULE,
        "1/8 to 1/2 in less than the span.",
        "span - (rho(bore) - rho(diameter)) of finger and thumb, rho(d) = R asin(d / 2R)",
    ),
    "removed": Explanation(
        "The weight that this hole's steps remove, less the weight of its sleeve.",
        "Weigh the ball before and after.",
        "fingers 1/2 to 1 oz, thumb 1 1/2 to 2 1/2 oz.",
        "density x volume of its bore and finished hole - of its sleeve",
    ),
    "bore": Explanation(
        "The bores of an oval hole in the order of cutting: each bit has ball on both of its sides, or "
        "on neither.",
        "Both ends first, then the middle of what is left.",
        "2 to 5.",
        "order: ends, then middles of ever smaller parts",
    ),
    "along": Explanation(
        "Where the bit stands along the grip's centreline, from the oval's middle.",
        "The press's table, square to the bit; set the oval's middle to 0 first.",
        "up to 1/16 in to either way.",
        "t cos(direction), t from -(length - bit) / 2 to (length - bit) / 2",
    ),
    "across": Explanation(
        "Where the bit stands across the grip, from the oval's middle, seen from outside with the "
        "fingers up.",
        "The press's table, square to the bit; set the oval's middle to 0 first.",
        "up to 1/16 in to either way.",
        "t sin(direction), t from -(length - bit) / 2 to (length - bit) / 2",
    ),
    "decimal": Explanation(
        "The place before it in inches: positive to the fingers, or to the right.",
        "A table that moves by a screw counts in decimals.",
        "-0.063 to 0.063.",
    ),
    "aims at": Explanation(
        "Where the hole ends: a vent ends on a gripping hole's axis, at this depth.",
        "Lay the ball so that the bit points there, by the lean in the table of bits.",
        "near the bottom of the thumb hole.",
    ),
    "from pin": Explanation(FIELDS["holes.*.from_pin"].what, _RULE, "1 to 7 in.", _ARC),
    "bearing": Explanation(
        FIELDS["holes.*.bearing"].what,
        FIELDS["holes.*.bearing"].bench,
        FIELDS["holes.*.bearing"].usual,
    ),
    "plug": Explanation(
        "The density of an old hole's plug, and its length where it does not fill the hole.",
        FIELDS["plug.density"].bench,
        "1.1 to 1.25 g/cm3.",
    ),
    "net removed": Explanation(
        "What the ball has lost by an old hole, less its plug; negative where the plug is heavier.",
        "Weigh the ball before and after.",
        "-1/2 to 1 oz.",
        "density x volume of the hole - of its plug",
    ),
    "edge to nearest mark": Explanation(
        "The least arc from the hole's edge to the pin, CG or PSA mark; `cuts it` means that "
        "drilling removes the mark.",
        _RULE,
        "1/2 in and more.",
        "least arc from the centre to a mark - rho(diameter cut)",
    ),
    "hole": Explanation("The hole whose centre the arcs start from.", _RULE, "middle, ring, thumb."),
    "to pin": Explanation(
        "From the hole's marked centre to the pin: measure it before the bit touches.", _RULE,
        "1 to 7 in.", _ARC,
    ),
    "to CG mark": Explanation(
        "From the hole's marked centre to the CG mark: measure it before the bit touches.", _RULE,
        "1 to 5 in.", _ARC,
    ),
    "to PSA mark": Explanation(
        "From the hole's marked centre to the PSA mark: measure it before the bit touches.", _RULE,
        "2 to 7 in.", _ARC,
    ),
    "holes": Explanation("The two holes on either side of the wall.", _RULE, "every two holes."),
    "the least wall between them": Explanation(
        "The thinnest material between two holes over their whole depth, or where they meet.",
        "Cannot be measured from outside; drill deep holes apart.",
        "1/4 in and more.",
        "least distance of the two bores",
    ),
}  # fmt: skip

# by the heading of a column of the shelf's table
SHELF: dict[str, str] = {
    "ball": "The ball's name in the table; select the ball to read the reason for its place.",
    "outcome": "The verdict of the rules on the plan with this ball.",
    "of a limit": "The largest share of a static limit that the drilled ball uses, and the name of "
    "that limit; while the scale's arm is not calibrated, at the worst of the arm's range.",
    "side": READINGS["side"].what,
    "finger or thumb": READINGS["finger"].what,
    "top": READINGS["top"].what,
    "gross": READINGS["gross"].what,
    "differential": READINGS["differential"].what,
}

# by what the dialogs about the shop's file ask for: a column of the tests, or a box
SHOP: dict[str, Explanation] = {
    "weight": Explanation(
        "The weight that is fixed on the ball's surface, where the beam's axis leaves it.",
        "Weigh it on a finer scale first, with whatever holds it; 60 g or 2 oz as you like.",
        "1 to 4 oz; better three tests, with different weights.",
    ),
    "growth": Explanation(
        "By how much the static scale's reading grew when the weight came onto the ball.",
        "Read the scale before and after, and type the difference.",
        "near the weight itself.",
        "growth = weight x lever / arm",
    ),
    "diameter": Explanation(
        "The ball's diameter in this test: half of it is the weight's lever.",
        "Caliper or ring gauge.",
        "8.500 to 8.595 in.",
    ),
    "height": Explanation(
        "How far the weight's own centre lies above the ball's surface; it lengthens the lever.",
        "Take half the weight's height, and add the thickness of anything between it and the ball.",
        "0 for a flat weight, to 1/2 in.",
        "lever = diameter / 2 + height",
    ),
    "reading": Explanation(
        "The standard deviation of a reading's growth: from it follow the arm's own, and which tests do "
        "not agree with the others.",
        "Make one test ten times; two thirds of the readings lie within one deviation of their mean.",
        "0.05 oz, a convention.",
    ),
    "by": Explanation(
        "The person who made the tests, for the shop's file.",
        "Nothing to measure.",
        "a name or initials.",
    ),
    "take": Explanation(
        "Whether plans take arm, shell and filler as fitted to the shop's weighed jobs, where the record "
        "is silent. It is off whenever the program starts; while it is on, the outcome says so.",
        "Weigh drilled balls and keep the weighings in their records: from three on a fit can be made.",
        "off, until the errors with a job left out are clearly smaller than with the defaults.",
    ),
    "bit": Explanation(
        "A bit's size as the shop writes it: inches, or millimetres with mm behind. The table of cuts "
        "names the bit of a hole, and where there is none of that size, the two nearest.",
        "Read the shank, and measure a bit that was ground again; what it cuts counts.",
        "31/32, 3/4, 18.5 mm.",
    ),
}

GLOSSARY: dict[str, str] = {
    "Angle at the PAP": "At the PAP, between the line to the pin and the finger side of the VAL; the "
    "trade also says VAL angle.",
    "Angle at the pin": "At the pin, from the line to the reference mark to the line to the PAP; the "
    "trade also says drilling angle.",
    "Arc": "A distance along the ball's surface, on the great circle between two marks.",
    "Arm": "The lever that a static scale is graduated for; it turns moments into ounces.",
    "Asymmetric": "Of a ball whose middle and high RG differ, so that it has a PSA mark.",
    "Axis rotation": "The angle between the ball's direction and its turning: 0 straight on, 90 "
    "sideways.",
    "Axis tilt": "How far the ring of the track lies beyond 90 degrees from the PAP.",
    "Balance hole": "A hole that no finger uses, drilled to change weights.",
    "Band": "A value with its uncertainty on both sides.",
    "Bearing": "A direction at a mark: 0 toward the fingers' pole, growing toward the PAP side.",
    "Bore": "The wider hole into which an insert or a slug is set.",
    "Breakpoint": "Where the ball's path is farthest out, before it comes back to the pins.",
    "Bridge": "The width of ball left between the two finger bores at the surface.",
    "Centreline": "The great circle through the grip centre, from the thumb up between the fingers.",
    "CG mark": "The factory's mark over the ball's centre of gravity, on the surface.",
    "Close": "An outcome: the limit lies within the value's band, so weigh the drilled ball.",
    "Core": "The dense shape inside that gives the ball its RGs; also weight block.",
    "Differential": "The high RG less the low RG.",
    "Entry angle": "The angle to the lane at which the ball comes to the head pin.",
    "Far side": "The part of the ball that cannot be seen from here.",
    "Filler": "The lighter material between shell and core.",
    "Finger weight": "Static weight toward the fingers; the other way it is thumb weight.",
    "Fingertip grip": "A grip in which the fingers go in to their first joint.",
    "Flare": "How the track moves over the ball from one turn to the next.",
    "Grip centre": "The middle of the grip: halfway between thumb edge and finger edges.",
    "Gross weight": "The whole weight of the ball.",
    "High RG axis": "The axis about which the ball is hardest to turn.",
    "Hook": "The part of the shot beyond the oil, where friction bends the ball's path until it rolls.",
    "Insert": "A sleeve set into a finger's bore, in which the hole is finished.",
    "Inspection hole": "A shallow hole that shows the material, within what the rules allow.",
    "Intermediate differential": "The high RG less the middle RG.",
    "Layout": "Where pin and reference mark lie to the bowler's PAP and grip.",
    "Low RG axis": "The axis about which the ball is easiest to turn; the pin marks its end.",
    "Midline": "The great circle through the grip centre, square to the centreline.",
    "Moment": "Weight times lever; a static scale measures moments.",
    "Negative side": "The side of the grip away from the bowler's PAP.",
    "Oil ring": "The line of oil that the lane leaves on the ball in one turn; the first ring shows "
    "the PAP.",
    "Oval": "Of a hole that is longer one way than its bit, cut as bores that overlap.",
    "Over": "The arc along the midline from the grip centre, positive toward the PAP.",
    "Palm mark": "The mark at the grip centre of a ball without a thumb hole.",
    "PAP": "Positive axis point: where the bowler's axis of rotation leaves the ball at release.",
    "Pin": "The factory's mark at the end of the core's low RG axis.",
    "Pin up, pin down": "The pin above or below the fingers' line.",
    "Pitch": "How far a hole's axis passes from the ball's centre: forward, reverse, right, left.",
    "Placement": "A layout stated by where the pin lies and where the reference mark points.",
    "Plug": "The material that fills an old hole.",
    "Positive side": "The side of the bowler's own PAP: right for a right hand.",
    "PSA mark": "Preferred spin axis: the factory's mark at the end of the high RG axis.",
    "Quarter": "Exactly 90 degrees round the ball, which the trade calls 6 3/4 in.",
    "Redrill": "To plug a ball's holes and drill it anew.",
    "Reference mark": "The PSA mark, or on a ball without one the CG mark.",
    "RG": "Radius of gyration: how far from an axis the ball's weight lies, on the average.",
    "Scallop": "The ridge that stays between two bores of an oval hole.",
    "Shell": "The outer layer of the ball; also cover.",
    "Side weight": "Static weight toward the positive or the negative side.",
    "Skid": "The part of the shot on the oil, where the ball slides.",
    "Sleeve": "A finger insert or a thumb slug.",
    "Slug": "A sleeve set into the thumb's bore, in which the hole is finished.",
    "Span": "From the finished edge of the thumb hole to that of a finger hole.",
    "Static weights": "Side, finger or thumb, and top weight, in scale ounces.",
    "Symmetric": "Of a ball whose middle and high RG are equal, or nearly.",
    "Tip angle": "The included angle of a drill's point.",
    "Top weight": "Static weight toward the grip centre; the other way it is bottom weight.",
    "Track": "The ring on which the ball rolls.",
    "Travel": "The setting of the press's stop: the way from first touch to the end of the cut.",
    "Up": "The arc from the midline, positive toward the fingers.",
    "VAL": "Vertical axis line: the great circle through the PAP, square to the midline.",
}
