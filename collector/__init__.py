"""From the wire to the ledger: acquire, decode, expect, flag, record; `run` is the flow, `cli` puts it together."""
