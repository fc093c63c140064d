package web

// allPages lists every page, so that pages and templates can be counted
// against each other at start.
var allPages = []page{
	&loginPage{}, &pairPage{}, &peoplePage{}, &invitePage{}, &errorPage{}, &allPage{}, &findPage{}, &settingsPage{}, &calendarPage{}, &dayPage{}, &undoPage{}, &importPage{}, &scanPage{}, &addressPage{}, &trustPage{}, &overPage{}, &awayPage{},
	&planPage{}, &planForm{},
	&suppliesPage{}, &recipeForm{}, &recipePage{}, &ingredientPage{}, &foundPage{}, &ladderPage{}, &culturesPage{}, &culturePage{}, &allSpeciesPage{}, &speciesPage{}, &cooksPage{}, &cookPage{}, &cookersPage{}, &standardPage{}, &benchPage{}, &labelsPage{}, &sessionPage{}, &inoculatePage{},
	&todayPage{}, &forecastPage{}, &batchesPage{}, &batchPage{}, &jarPage{}, &chainPage{}, &shelfPage{}, &roundsPage{}, &checkPage{}, &walkPage{}, &shelfRoundsPage{}, &photoPage{}, &seriesPage{}, &photosPage{},
	&weighPage{}, &cropPage{},
	&trialsPage{}, &trialPage{}, &trialDaysPage{}, &reportPage{}, &fouledPage{}, &pooledPage{}, &elsewherePage{}, &guestPage{},
	&reckonerPage{}, &calcPage{},
}
