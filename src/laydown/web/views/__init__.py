"""What each template is given: one frozen dataclass per page, made from results by pure functions."""
