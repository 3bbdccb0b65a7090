"""The one page that the check-in desk needs beside the scale. Text alone: help shows it at once."""

GUIDE = """\
how to weigh:
  Gross first: the ball on the flat scale, read to 0.01 lb. It decides the weight class.
  Each static weight takes two readings: the first as below, the second after the ball is turned
  half round about the vertical, in the same seat. Half their difference makes the weight, half
  their sum the scale's zero error, which must repeat from weight to weight and from ball to ball.
    top     the grip centre toward the scale, level with the ball's middle
    side    the grip centre straight up, the centreline across the beam; first reading with the
            side of the bowler's positive axis point toward the scale: + is positive side weight
    finger  the grip centre straight up, the centreline along the beam; first reading with the
            fingers toward the scale: + is finger weight, - is thumb weight
  Four quarter turns with the grip centre up give side, finger and two zero errors.

what a ball that lies 5 degrees wrong costs (3/8 in on its surface):
  With 3 oz of top weight, 0.26 oz of it is read as side or finger weight: a side weight of 0.20
  shows 0.46 or -0.06. Turning the ball does not cancel a ball that leans in its seat. Top weight
  forgives: 2.50 shows 2.44 to 2.54 beside a side weight of 0.60. Side and finger do not: with
  the grip centre straight up within 1 degree (5/64 in on the surface) they are good to 0.05 oz.
  The seat may not move between the two readings: 0.01 in at 15 lb is 0.28 oz.

how to test the scale:
  Before the first ball, and whenever it says that the scale moved: zero it, then fix a known
  weight of 1 to 3 oz on a ball's surface on the beam's axis and weigh again. Give the weight and
  by how much the reading grew to `layoutkit scale --test WEIGHT GROWTH --save`. Without a
  calibration the arm's range decides what is close. Test the flat scale with a certified weight.
  On two supports the gross weight's 0.01 lb puts 0.08 oz into each zero error: one ball proves
  nothing, three in a row do.

what a verdict means:
  pass         every weight was measured, and what was looked at is within the rule set
  close        a limit lies within the allowance: what would decide it stands beside
  fail         beyond a limit by more than the allowance
  incomplete   something that is needed was not measured: nothing is legal that was not
  A question changes no verdict: look at the ball again. What was not looked at is named.
  Rules change, and events add their own: the rule book in force and the event's officials decide.
  A ball is heavy: keep it off the table's edge and your fingers out from under it.
"""
