"""The screens of sampling: what is agreed with a maker, the sample of a batch, the history that follows."""
