"""What two hands can do: fingerings, strokes, findings with remedies, difficulty.

A Python interface of pure functions, each in the module that its name says (`docs/hand.md` has an example)::

    hand.proposals.with_hands(score)            -> Score with every finger and stroke proposed
    hand.proposals.with_fingers(score)          -> Score with fingers proposed, courses kept or free
    hand.strokes.with_proposals(score)          -> Score with strokes proposed by the school in force
    hand.fingering.fingering(score)             -> Fingering: the hand at each onset, effort by named term
    hand.alternatives.alternatives(score, span) -> other ways, where they part, and the term that decides
    hand.alternatives.choices(score, place, course) -> every finger for one note, with its price
    hand.review.findings(score)                 -> what is impossible or hard, with the numbers
    hand.trial.offered(score, finding)          -> the remedies that help

The terms that a fingering is judged by, their weights and sources are in `hand.terms`.
"""
