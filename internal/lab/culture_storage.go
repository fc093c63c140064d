package lab

// StorageLimit is how long a way of storage is known to keep a culture.
type StorageLimit struct {
	Storage Storage
	Forms   []Form // it is about; nil is every form
	Days    int    // after which the culture is past what is known
	Renew   int    // days after which to renew, so that it does not come so far
	Finding string // what was found
	Source  string
	Doubt   string // what speaks against it, "" if nothing was read
}

// Common practice has no source; pages say so.
const commonPractice = "common practice, no source"

// storageLimits are what was published or is common practice, the more
// special before the more general. What was found for Cordyceps militaris is
// a lower bound: nobody looked longer.
var storageLimits = []StorageLimit{
	{InFridge, []Form{LC, Syringe}, 91, 60, "an LC keeps for about three months after it is ready", commonPractice, ""},
	{
		InFridge,
		[]Form{Slant, Plate},
		365, 90, "a slant at 4 °C fruited after 12 months", "Sun et al. 2018, World J. Microbiol. Biotechnol. 34:166 (Cordyceps militaris)",
		"Others renew every 3 to 6 months, and oyster mushrooms suffer in the cold (common practice, no source); lines often wear out in storage.",
	},
	{InFridge, []Form{Grain}, 60, 30, "grain spawn keeps for weeks", commonPractice, ""},
	{InFridge, nil, 365, 180, "nothing was read about this form", commonPractice, ""},
	{AtRoom, []Form{LC, Syringe}, 28, 14, "an LC is at its best within weeks", commonPractice, ""},
	{AtRoom, []Form{Print}, 365, 180, "a dry print keeps for a year and more", commonPractice, ""},
	{AtRoom, nil, 28, 14, "a living culture goes on growing, and wears out", commonPractice, ""},
	{InWater, nil, 365, 300, "sterile water did as well as liquid nitrogen for at least a year", "Liu et al. 2018, Int. J. Med. Mushrooms 20(10):1003-1011 (Cordyceps militaris)", "The temperature is not told."},
	{DriedGrain, nil, 120, 90, "rice dried at 35 or 45 °C was fine after 4 months", "Thai et al. 2022, Agric. Nat. Resour. (Cordyceps militaris)", ""},
	{
		InFreezer, nil, 120, 90, "fine after 4 months with 10 % glycerol", "Thai et al. 2022, Agric. Nat. Resour. (Cordyceps militaris)",
		"Liu et al. 2018 found -80 °C not suitable. Keep another copy elsewhere.",
	},
	{FreezeDried, nil, 4 * 365, 3 * 365, "kept its traits for at least four years", "Liu et al. 2018, Int. J. Med. Mushrooms 20(10):1003-1011 (Cordyceps militaris)", ""},
	{InNitrogen, nil, 365, 365, "good for at least a year; nobody looked longer", "Liu et al. 2018, Int. J. Med. Mushrooms 20(10):1003-1011 (Cordyceps militaris)", ""},
}

// LimitOf returns what is known of keeping a culture of form f by s, and
// whether anything is.
func LimitOf(s Storage, f Form) (StorageLimit, bool) {
	for _, l := range storageLimits {
		if l.Storage != s {
			continue
		}
		if l.Forms == nil {
			return l, true
		}
		for _, x := range l.Forms {
			if x == f {
				return l, true
			}
		}
	}
	return StorageLimit{}, false
}

// The transfers from the master at which to think again, unless the grower
// sets others.
const (
	WarnTransfers = 3 // lowered a constituent: Thai et al. 2022
	StopTransfers = 5 // common practice, no source; ten made lines degenerate
)
