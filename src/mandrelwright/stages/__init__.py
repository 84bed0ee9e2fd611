"""One module per step of the job, in shop order; each: a frozen record, one verb, its checks."""
