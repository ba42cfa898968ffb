"""The decision room: is what the contract asks met, not met, or not decidable from what is known?

``cases``       every value that the decisions are about, with its bounds
``evaluate``    one requirement on zones of equal size; ``decide`` a specification on all zones
``needs``       what the unknown values would have to be where a zone is undetermined
``hangs_on``    on which pull, flag or way of rounding a decision hangs
``reasons``     each outcome as a message with facts

Imports: numpy, floor 0, terms, statistics. Must not import intake, judging, pandas or anything above.
"""
