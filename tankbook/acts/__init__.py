"""Acts at the bench and the fill station, planned: records in, edits or a refusal out.

Nothing here touches a file. The ledger room writes what an act says, all of it or nothing.
"""
