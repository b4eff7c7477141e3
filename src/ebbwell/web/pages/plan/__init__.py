"""What to set tonight: the figures of the plan, each beside its bound and last night's, and agreeing them."""
