"""A job: the events of the bay, the state they fold to, guidance for the next step, the verdict."""
