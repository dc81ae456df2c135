"""What can go wrong between a wrench and the record, by seed: faults on a stream of records, and links that carry them."""
