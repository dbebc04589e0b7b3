"""What to carry on the van and to keep in the stores: questions to a build, answered by `pipeline.planning`."""
