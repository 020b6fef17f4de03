# A batch under way: forecast anew, what if, interruptions.
