"""The ground: models, units, plan, ledger entry, tree, database shape and the fold. Imports nothing of ours."""
