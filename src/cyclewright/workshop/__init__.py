"""The use cases, one file a stage; both faces see only these."""
