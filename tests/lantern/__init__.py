"""The second invented household: an evening with bags of fluid and a catheter, by data alone."""
