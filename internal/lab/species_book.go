package lab

// Sources of the profiles. What is "from memory" was not looked up again.
const (
	stamets       = "Stamets 2000, Growing Gourmet and Medicinal Mushrooms, 3rd ed., ch. 21"
	stametsMemory = stamets + " (from memory)"
	commonRead    = "papers on the species, and common practice"
	supplier      = "a supplier's sheet"
	trametesPaper = "an Indian paper on the species"
	usda          = "USDA National Nutrient Database SR28"
)

// Published figures of species, in the order that pages list them. Where a
// source gives one figure, it is both ends. °C are rounded from °F where the
// source has those.
var speciesBook = []Profile{
	{
		Key: "cordyceps-militaris", Species: "Cordyceps militaris", names: []string{"militaris", "cordyceps"}, Light: true, lateRun: 22, latePins: 22, growth: [2]int{2, 4},
		Targets: []Target{
			{Phase: Run, What: Temperature, From: 20, To: 23, Source: commonPractice, Doubt: "Papers used 23 and 25."},
			{Phase: Run, What: Humidity, From: 60, To: 75, Source: commonPractice, Doubt: "Of the room: the jar is shut."},
			{Phase: Run, What: Days, From: 7, To: 14, Source: commonPractice},
			{Phase: Run, What: Lux, From: 0, To: 0, Source: commonPractice},
			{Phase: Pinning, What: Temperature, From: 18, To: 22, Source: commonRead},
			{Phase: Pinning, What: Humidity, From: 90, To: 95, Source: commonPractice},
			{Phase: Pinning, What: CO2, To: 2000, Source: commonPractice},
			{Phase: Pinning, What: Days, From: 7, To: 14, Source: commonPractice},
			{Phase: Pinning, What: ColourDays, From: 3, To: 7, Source: commonPractice},
			{Phase: Pinning, What: Lux, From: 500, To: 1750, Source: commonRead},
			{Phase: Pinning, What: LightHours, From: 12, To: 12, Source: commonRead},
			{Phase: Fruiting, What: Temperature, From: 18, To: 23, Source: commonPractice},
			{Phase: Fruiting, What: Humidity, From: 80, To: 95, Source: commonPractice},
			{Phase: Fruiting, What: CO2, To: 2000, Source: commonPractice},
			{Phase: Fruiting, What: Days, From: 14, To: 30, Source: commonPractice},
			{Phase: Fruiting, What: Lux, From: 500, To: 2000, Source: commonRead},
			{Phase: Fruiting, What: LightHours, From: 12, To: 12, Source: commonRead},
			{Phase: Crop, What: Flushes, From: 1, To: 1, Source: commonPractice, Doubt: "A second is small."},
			{Phase: Crop, What: Efficiency, From: 41, To: 87, Source: "recipes in papers", Doubt: "Each on its own medium and strain."},
			{Phase: Crop, What: Moisture, From: 58, To: 62, Source: "worked out from such recipes"},
			{Phase: Crop, What: CarbonNitrogen, From: 25, To: 35, Source: "worked out from such recipes"},
			{Phase: Crop, What: DryMatter, From: 14, To: 20, Source: commonPractice},
		},
	},
	gourmet(
		"pleurotus-ostreatus", "Pleurotus ostreatus", []string{"ostreatus", "oyster"}, stamets,
		climate{24, 24, 85, 95, 5000, 20000, 12, 21}, climate{10, 16, 95, 100, 0, 1000, 3, 5}, climate{10, 21, 85, 90, 0, 1000, 4, 7},
		Target{Phase: Pinning, What: FreshAir, From: 4, To: 8, Source: stamets},
		Target{Phase: Pinning, What: Lux, From: 1000, To: 1500, Source: stamets},
		Target{Phase: Fruiting, What: Lux, From: 1000, To: 1500, Source: stamets, Doubt: "Penn State: 50 to 300 lux, 4 hours a day."},
		Target{Phase: Crop, What: Flushes, From: 3, To: 4, Source: stamets},
		Target{Phase: Crop, What: Efficiency, From: 54, To: 105, Source: "published trials", Doubt: "75 to 150 is commonly told, with no source."},
		Target{Phase: Crop, What: Moisture, From: 60, To: 65, Source: commonPractice, Doubt: "70 to 75 on straw."},
		Target{Phase: Crop, What: CarbonNitrogen, From: 30, To: 80, Source: commonPractice},
		Target{Phase: Crop, What: DryMatter, From: 10.82, To: 10.82, Source: usda + ", 11987"},
	),
	gourmet(
		"pleurotus-eryngii", "Pleurotus eryngii", []string{"eryngii", "king oyster"}, stametsMemory,
		climate{24, 24, 90, 95, 5000, 20000, 12, 16}, climate{10, 15, 95, 100, 500, 1000, 4, 5}, climate{15, 21, 80, 85, 0, 2000, 4, 8},
		Target{Phase: Run, What: Temperature, From: 21, To: 21, Source: supplier, Doubt: "Another supplier: 25 is best."},
		Target{Phase: Fruiting, What: Temperature, From: 12, To: 16, Source: supplier, Doubt: "Poor above 20."},
		Target{Phase: Pinning, What: FreshAir, From: 4, To: 5, Source: stametsMemory},
		Target{Phase: Pinning, What: Lux, From: 500, To: 1000, Source: stametsMemory},
		Target{Phase: Fruiting, What: Lux, From: 500, To: 1000, Source: stametsMemory},
		Target{Phase: Crop, What: Flushes, From: 2, To: 2, Source: stametsMemory},
		Target{Phase: Crop, What: Efficiency, From: 40, To: 80, Source: commonPractice},
		Target{Phase: Crop, What: Moisture, From: 65, To: 68, Source: commonPractice},
		Target{Phase: Crop, What: CarbonNitrogen, From: 30, To: 50, Source: commonPractice},
		Target{Phase: Crop, What: DryMatter, From: 10, To: 12, Source: commonPractice},
	),
	gourmet(
		"hericium-erinaceus", "Hericium erinaceus", []string{"hericium", "erinaceus", "lion"}, stamets,
		climate{21, 27, 90, 100, 5000, 40000, 10, 14}, climate{10, 16, 95, 100, 500, 700, 3, 5}, climate{18, 24, 90, 95, 500, 1000, 4, 5},
		Target{Phase: Pinning, What: Days, From: 7, To: 8, Source: "measured in a paper of 2025"},
		Target{Phase: Fruiting, What: Temperature, From: 12, To: 20, Source: supplier, Doubt: "Misshapen above 25."},
		Target{Phase: Pinning, What: FreshAir, From: 5, To: 8, Source: stamets},
		Target{Phase: Pinning, What: Lux, From: 500, To: 1000, Source: stamets},
		Target{Phase: Fruiting, What: Lux, From: 500, To: 1000, Source: stamets},
		Target{Phase: Crop, What: Flushes, From: 2, To: 2, Source: stamets},
		Target{Phase: Crop, What: Efficiency, From: 26, To: 92.3, Source: "Ko 2005, Ehlers 1998, Atila 2019 and others", Doubt: "Each on its own substrate: 26 to 70, 73.6, 37.3, 51.8, 70.5 to 92.3."},
		Target{Phase: Crop, What: Moisture, From: 60, To: 65, Source: commonPractice},
		Target{Phase: Crop, What: CarbonNitrogen, From: 25, To: 50, Source: commonPractice},
		Target{Phase: Crop, What: DryMatter, From: 8, To: 12, Source: commonPractice},
	),
	gourmet(
		"lentinula-edodes", "Lentinula edodes", []string{"lentinula", "edodes", "shiitake"}, stamets,
		climate{21, 27, 95, 100, 10000, 0, 35, 70}, climate{10, 16, 95, 100, 0, 1000, 5, 7}, climate{10, 21, 60, 80, 0, 1000, 5, 8},
		Target{Phase: Pinning, What: Temperature, From: 16, To: 21, Source: stamets, Doubt: "Warm types; 10 to 16 is for cold ones."},
		Target{Phase: Fruiting, What: Temperature, From: 16, To: 27, Source: stamets, Doubt: "Warm types; 10 to 21 is for cold ones."},
		Target{Phase: Run, What: Lux, From: 50, To: 100, Source: stamets},
		Target{Phase: Pinning, What: FreshAir, From: 4, To: 7, Source: commonPractice},
		Target{Phase: Pinning, What: Lux, From: 500, To: 2000, Source: stamets},
		Target{Phase: Fruiting, What: Lux, From: 500, To: 2000, Source: stamets},
		Target{Phase: Crop, What: Flushes, From: 3, To: 5, Source: "from every 2 to 3 weeks for 8 to 12 weeks: " + stamets},
		Target{Phase: Crop, What: Efficiency, From: 60, To: 145, Source: commonPractice},
		Target{Phase: Crop, What: Moisture, From: 55, To: 55, Source: "Shen, Tian and Royse 2008, Bioresour. Technol. 99:8212 (best of 50, 55, 60)", Doubt: "J. Wood Sci. 2016: 56 did better than 64."},
		Target{Phase: Crop, What: CarbonNitrogen, From: 30, To: 60, Source: commonPractice},
		Target{Phase: Crop, What: DryMatter, From: 10.26, To: 10.26, Source: usda + ", 11238"},
	),
	gourmet(
		"ganoderma-lucidum", "Ganoderma lucidum, G. lingzhi", []string{"ganoderma", "lingzhi", "reishi"}, stametsMemory,
		climate{21, 27, 95, 100, 50000, 0, 10, 20}, climate{18, 24, 95, 100, 20000, 40000, 14, 28}, climate{21, 27, 90, 95, 0, 2000, 60, 60},
		Target{Phase: Run, What: Temperature, From: 25, To: 30, Source: supplier},
		Target{Phase: Fruiting, What: Temperature, From: 25, To: 28, Source: supplier, Doubt: "At 0.1 % CO2 the cap stops widening (told by a supplier)."},
		Target{Phase: Pinning, What: FreshAir, To: 1, Source: stamets, Doubt: "For antlers."},
		Target{Phase: Pinning, What: Lux, From: 200, To: 500, Source: stamets},
		Target{Phase: Pinning, What: LightHours, From: 4, To: 8, Source: stamets},
		Target{Phase: Fruiting, What: Lux, From: 750, To: 1500, Source: stamets},
		Target{Phase: Fruiting, What: LightHours, From: 12, To: 12, Source: stamets},
		Target{Phase: Crop, What: Flushes, From: 2, To: 2, Source: stamets},
		Target{Phase: Crop, What: Efficiency, From: 10, To: 25, Source: commonPractice, Doubt: "17.51 on rubber sawdust with cassava (a paper of 2019)."},
		Target{Phase: Crop, What: Moisture, From: 55, To: 60, Source: supplier},
		Target{Phase: Crop, What: CarbonNitrogen, From: 50, To: 80, Source: commonPractice},
		Target{Phase: Crop, What: DryMatter, From: 30, To: 40, Source: commonPractice},
	),
	gourmet(
		"grifola-frondosa", "Grifola frondosa", []string{"grifola", "maitake"}, stamets,
		climate{21, 24, 95, 100, 20000, 40000, 14, 60}, climate{10, 16, 95, 95, 2000, 5000, 5, 10}, climate{13, 18, 85, 90, 0, 1000, 10, 14},
		Target{Phase: Pinning, What: FreshAir, From: 4, To: 8, Source: commonPractice},
		Target{Phase: Pinning, What: Lux, From: 100, To: 500, Source: stametsMemory},
		Target{Phase: Fruiting, What: Lux, From: 500, To: 1000, Source: stametsMemory},
		Target{Phase: Crop, What: Flushes, From: 1, To: 2, Source: stametsMemory},
		Target{Phase: Crop, What: Efficiency, From: 44.91, To: 44.91, Source: "PMC5866258, first crop at C:N 48.4"},
		Target{Phase: Crop, What: Moisture, From: 55, To: 60, Source: commonPractice},
		Target{Phase: Crop, What: CarbonNitrogen, From: 48, To: 48, Source: "PMC5866258"},
		Target{Phase: Crop, What: DryMatter, From: 9.63, To: 9.63, Source: usda + ", 11993"},
	),
	gourmet(
		"flammulina-velutipes", "Flammulina velutipes, F. filiformis", []string{"flammulina", "velutipes", "filiformis", "enoki"}, stamets,
		climate{21, 24, 95, 100, 5000, 0, 14, 18}, climate{7, 10, 95, 100, 2000, 4000, 3, 5}, climate{10, 16, 90, 95, 2000, 4000, 5, 8},
		Target{Phase: Fruiting, What: Temperature, From: 8, To: 15, Source: supplier},
		Target{Phase: Pinning, What: FreshAir, From: 2, To: 4, Source: stamets},
		Target{Phase: Pinning, What: Lux, From: 100, To: 200, Source: stamets},
		Target{Phase: Fruiting, What: Lux, From: 100, To: 200, Source: stamets, Doubt: "A supplier: 50 to 100."},
		Target{Phase: Crop, What: Flushes, From: 2, To: 3, Source: stamets},
		Target{Phase: Crop, What: Efficiency, From: 60, To: 110, Source: commonPractice},
		Target{Phase: Crop, What: Moisture, From: 63, To: 65, Source: supplier},
		Target{Phase: Crop, What: CarbonNitrogen, From: 25, To: 35, Source: commonPractice},
		Target{Phase: Crop, What: DryMatter, From: 11.66, To: 11.66, Source: usda + ", 11950"},
	),
	gourmet(
		"cyclocybe-aegerita", "Cyclocybe (Agrocybe) aegerita", []string{"aegerita", "cyclocybe", "agrocybe"}, stamets,
		climate{21, 27, 95, 100, 20000, 0, 20, 28}, climate{10, 16, 95, 100, 0, 2000, 7, 14}, climate{13, 18, 90, 95, 0, 2000, 4, 6},
		Target{Phase: Pinning, What: Temperature, From: 18, To: 22, Source: supplier},
		Target{Phase: Fruiting, What: Temperature, From: 20, To: 25, Source: supplier},
		Target{Phase: Pinning, What: FreshAir, From: 4, To: 8, Source: commonPractice},
		Target{Phase: Pinning, What: Lux, From: 500, To: 1000, Source: stamets},
		Target{Phase: Fruiting, What: Lux, From: 500, To: 1000, Source: commonPractice},
		Target{Phase: Crop, What: Flushes, From: 2, To: 2, Source: stamets},
		Target{Phase: Crop, What: Efficiency, From: 40, To: 80, Source: commonPractice},
		Target{Phase: Crop, What: Moisture, From: 65, To: 70, Source: supplier},
		Target{Phase: Crop, What: CarbonNitrogen, From: 30, To: 50, Source: commonPractice},
		Target{Phase: Crop, What: DryMatter, From: 9, To: 12, Source: commonPractice},
	),
	gourmet(
		"pholiota-nameko", "Pholiota nameko", []string{"nameko"}, stametsMemory,
		climate{24, 29, 95, 100, 5000, 0, 14, 14}, climate{10, 16, 98, 100, 500, 800, 7, 10}, climate{13, 18, 90, 95, 800, 1200, 5, 8},
		Target{Phase: Pinning, What: Temperature, From: 10, To: 18, Source: supplier},
		Target{Phase: Pinning, What: FreshAir, From: 4, To: 8, Source: stametsMemory},
		Target{Phase: Pinning, What: Lux, From: 500, To: 1000, Source: stametsMemory},
		Target{Phase: Fruiting, What: Lux, From: 500, To: 1000, Source: stametsMemory},
		Target{Phase: Crop, What: Flushes, From: 2, To: 2, Source: stametsMemory},
		Target{Phase: Crop, What: Efficiency, From: 50, To: 90, Source: commonPractice},
		Target{Phase: Crop, What: Moisture, From: 65, To: 65, Source: supplier},
		Target{Phase: Crop, What: CarbonNitrogen, From: 40, To: 60, Source: commonPractice},
		Target{Phase: Crop, What: DryMatter, From: 4.8, To: 4.8, Source: supplier},
	),
	{
		Key: "trametes-versicolor", Species: "Trametes versicolor", names: []string{"trametes", "versicolor"},
		Targets: []Target{
			{Phase: Run, What: Temperature, From: 23, To: 30, Source: supplier, Doubt: "A paper found 25 best, at pH 5.5."},
			{Phase: Run, What: Humidity, From: 80, To: 85, Source: trametesPaper},
			{Phase: Run, What: Days, From: 18, To: 20, Source: trametesPaper},
			{Phase: Run, What: Lux, From: 0, To: 0, Source: trametesPaper},
			{Phase: Pinning, What: Temperature, From: 18, To: 24, Source: supplier},
			{Phase: Pinning, What: Humidity, From: 95, To: 100, Source: supplier},
			{Phase: Pinning, What: Days, From: 7, To: 14, Source: supplier, Doubt: "A paper measured 14 to 20."},
			{Phase: Pinning, What: Lux, From: 500, To: 2000, Source: supplier},
			{Phase: Fruiting, What: Temperature, From: 18, To: 28, Source: supplier, Doubt: "A paper: 23 to 27."},
			{Phase: Fruiting, What: Humidity, From: 75, To: 95, Source: supplier},
			{Phase: Fruiting, What: Days, From: 42, To: 70, Source: supplier, Doubt: "A trial in bags had fruit bodies after 21 days."},
			{Phase: Fruiting, What: Lux, From: 700, To: 1500, Source: supplier},
			{Phase: Fruiting, What: LightHours, From: 12, To: 12, Source: trametesPaper},
			{Phase: Crop, What: Flushes, From: 1, To: 2, Source: supplier},
			{Phase: Crop, What: Efficiency, From: 11.5, To: 31.5, Source: trametesPaper},
			{Phase: Crop, What: Moisture, From: 60, To: 60, Source: commonPractice},
			{Phase: Crop, What: CarbonNitrogen, From: 31, To: 31, Source: trametesPaper},
			{Phase: Crop, What: DryMatter, From: 25, To: 40, Source: commonPractice},
		},
	},
	gourmet(
		"auricularia", "Auricularia", []string{"auricularia", "wood ear"}, stamets,
		climate{24, 30, 90, 95, 5000, 20000, 25, 40}, climate{12, 20, 90, 100, 600, 1000, 5, 10}, climate{21, 30, 85, 90, 2000, 5000, 5, 7},
		Target{Phase: Run, What: Temperature, From: 23, To: 27, Source: "Penn State, for 28 to 30 days"},
		Target{Phase: Pinning, What: FreshAir, From: 5, To: 8, Source: stamets},
		Target{Phase: Pinning, What: Lux, From: 500, To: 1000, Source: stametsMemory},
		Target{Phase: Fruiting, What: Lux, From: 500, To: 1000, Source: stametsMemory},
		Target{Phase: Crop, What: Flushes, From: 3, To: 4, Source: stametsMemory},
		Target{Phase: Crop, What: Efficiency, From: 30.79, To: 30.79, Source: "a published trial", Doubt: "Auricularia polytricha: 58.85 (Agronomy 2020, 10:1892)."},
		Target{Phase: Crop, What: Moisture, From: 60, To: 60, Source: "Penn State"},
		Target{Phase: Crop, What: CarbonNitrogen, From: 40, To: 80, Source: commonPractice},
		Target{Phase: Crop, What: DryMatter, From: 7, To: 10, Source: commonPractice},
	),
}

// climate is what one source tells of a phase: °C, % humidity, ppm CO2 and
// days, each from and to. A CO2 of 0 is an open end.
type climate struct{ tLow, tHigh, rhLow, rhHigh, co2Low, co2High, dLow, dHigh float64 }

// gourmet lays out a profile whose three phases one source tells of.
func gourmet(key, species string, names []string, source string, run, pins, fruit climate, more ...Target) Profile {
	p := Profile{Key: key, Species: species, names: names}
	for i, c := range []climate{run, pins, fruit} {
		phase := Phases[i]
		p.Targets = append(p.Targets,
			Target{Phase: phase, What: Temperature, From: c.tLow, To: c.tHigh, Source: source},
			Target{Phase: phase, What: Humidity, From: c.rhLow, To: c.rhHigh, Source: source},
			Target{Phase: phase, What: CO2, From: c.co2Low, To: c.co2High, Source: source},
			Target{Phase: phase, What: Days, From: c.dLow, To: c.dHigh, Source: source})
	}
	p.Targets = append(p.Targets, more...)
	return p
}
