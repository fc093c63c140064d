package demo

import "pinset/internal/app"

// tour leads a newcomer through one story: a comparison that could answer,
// one that could not, and what goes wrong in between.
var tour = []app.TourStep{
	{
		Title: "A comparison that could answer", Kind: "trial", Name: "Millet or oats",
		Says: "Every arm stood in every layer of both cooks, by lot, and lost jars count. The sentence says no more than the jars show; below it is every jar.",
	},
	{
		Title: "One that could not", Kind: "trial", Name: "Deep or shallow",
		Says: "A difference in the means, and yet no winner: the interval reaches from one side of nothing to the other. It says how many jars would settle it.",
	},
	{
		Title: "A cook that did not hold", Kind: "cook", Name: "10",
		Says: "Pressure was lost after 38 minutes. 19 more do not rescue it: only the longest unbroken stretch counts. Its jars were held back.",
	},
	{
		Title: "A liquid culture that fouled its jars", Kind: "batch", Name: "B3",
		Says: "Both cooks held and the blanks stayed clean, yet most jars turned green. Every jar keeps what it carried, so the cause has a name.",
	},
	{
		Title: "What waits today", Kind: "batch", Name: "B8",
		Says: "Twelve jars are cooked and wait. Open the bench sheet that they were made by, then put a culture into all of them on one screen.",
	},
}
