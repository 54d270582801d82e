"""One module a revision, each with the step up from the one before."""
