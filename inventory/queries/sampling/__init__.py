"""How a batch is sampled: what was agreed, what follows for a batch, how its sample stands, what it says.

schemes    what was agreed with a maker, and what holds for a batch
past       decided batches as the switching rules take them; the severity that follows, and why
earned     clean batches in a row: whether less may be measured, and which points rest
planning   the plan of one batch
figures    what a plan does: curve, risks, alternatives
found      what was found on the pieces of a sample
standing   whether the sample has decided
rest       what the sample says of the rest
asked_for  which pieces the bench asks for
"""
