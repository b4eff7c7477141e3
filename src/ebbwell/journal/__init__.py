"""The record: envelopes, typed bodies, the chain, the store, bundles. Entries are appended and never changed."""
