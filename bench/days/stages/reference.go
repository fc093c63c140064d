package main

import "math"

// referenceFarms is how many farms the reference simulated of each kind.
const referenceFarms = 400

// scenarios are the kinds of farm with the figures of a reference simulation
// of the same definitions in NumPy 1.24 and SciPy 1.10, its grid 31 by 31,
// with other draws. In the order of methodNames.
var scenarios = []scenario{
	{"spread of recipes 0.12, of batches 0.13", 0.12, 0.13, 0, normal, [5]figures{
		{0.8043, 0.9546, 0.0866}, {0.8095, 0.9440, 0.0887}, {0.7668, 0.9332, 0.1007}, {0.8636, 0.9732, 0.1002}, {0.7632, 0.9246, 0.0876},
	}},
	{"book a quarter too short", 0.12, 0.13, math.Log(1.25), normal, [5]figures{
		{0.7986, 0.9500, 0.0877}, {0.8095, 0.9440, 0.0882}, {0.7671, 0.9307, 0.1027}, {0.6057, 0.8314, 0.1708}, {0.7575, 0.9146, 0.0887},
	}},
	{"recipes alike, 0.03", 0.03, 0.13, 0, normal, [5]figures{
		{0.8111, 0.9607, 0.0778}, {0.7925, 0.9410, 0.0886}, {0.7882, 0.9489, 0.0778}, {0.9479, 0.9968, 0.0802}, {0.7739, 0.9357, 0.0787},
	}},
	{"recipes very unlike, 0.30", 0.30, 0.13, 0, normal, [5]figures{
		{0.8068, 0.9489, 0.1010}, {0.8020, 0.9335, 0.0874}, {0.7450, 0.9207, 0.1796}, {0.5911, 0.7746, 0.1908}, {0.7786, 0.9264, 0.1020},
	}},
	{"batches noisy, 0.25", 0.12, 0.25, 0, normal, [5]figures{
		{0.7936, 0.9521, 0.1554}, {0.8110, 0.9505, 0.1702}, {0.7854, 0.9429, 0.1617}, {0.6443, 0.8232, 0.1642}, {0.7679, 0.9321, 0.1577},
	}},
	{"heavy tails, t with 4 df", 0.12, 0.13, 0, heavy, [5]figures{
		{0.8296, 0.9418, 0.0830}, {0.8085, 0.9330, 0.0820}, {0.8004, 0.9361, 0.0977}, {0.8836, 0.9696, 0.0986}, {0.7929, 0.9218, 0.0841},
	}},
	{"7 % of batches 1.6 times as slow", 0.12, 0.13, 0, slow, [5]figures{
		{0.8186, 0.9382, 0.1125}, {0.7970, 0.9270, 0.1177}, {0.8043, 0.9318, 0.1226}, {0.8143, 0.9171, 0.1210}, {0.7871, 0.9182, 0.1141},
	}},
}
