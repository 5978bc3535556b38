"""What each step does: joins its panel, its drawing and the job."""
