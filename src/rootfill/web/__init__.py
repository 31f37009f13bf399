"""The page: routes parse, call a use case and answer; what is true is kept below."""
