"""The record: envelopes, typed bodies, the chain, the store, bundles. Entries are only ever appended."""
