package report

import (
	"fmt"

	"pinset/internal/app"
	"pinset/internal/picture"
)

// ForestHint says how a forest is read.
const ForestHint = "One line a trial with its 95 % interval; the larger the square, the more it weighs. An open square is a trial from elsewhere. The upright stroke is where the others draw it to. The diamond is the mean of all, the bar below it what the next grow may show."

// Forest is the picture of one contrast over trials.
func Forest(p app.Pooled) picture.Forest {
	r := p.Answer.Result
	f := picture.Forest{Title: p.Title() + ", trial by trial", Finding: p.Sentence + " " + p.Next, Unit: p.Unit(), Column: "Trial", None: p.None(), Ratio: p.Ratio}
	f.Matters[0], f.Matters[1] = p.Alike()
	for _, x := range p.Rows {
		row := picture.ForestRow{Name: x.Trial, Weight: x.Weight, Away: x.From != "", Given: forestBand(x.Given), Note: x.When.Format("Jan 2006")}
		if x.Jars[0] > 0 {
			row.Note = fmt.Sprintf("%d and %d jars, %s", x.Jars[0], x.Jars[1], row.Note)
		}
		if len(p.Rows) > 1 {
			drawn := forestBand(x.Shrunk)
			row.Drawn = &drawn
		}
		f.Rows = append(f.Rows, row)
	}
	mean, next := forestBand(r.Mean), forestBand(r.Next)
	f.Mean, f.Next = &mean, &next
	return f
}

// RankForest is the picture of recipes or cultures against the usual, in their
// order.
func RankForest(x app.Ranking) picture.Forest {
	f := picture.Forest{Title: "Against " + x.Usual + ", in order", Finding: x.Sentence, Unit: "times " + x.Usual, Column: string(x.Is), None: 1, Ratio: true, ByDrawn: true}
	for _, r := range x.Rows {
		drawn := forestBand(r.Shrunk)
		row := picture.ForestRow{Name: r.Name, Note: trialsOf(r), Away: r.Away == r.Trials, Weight: 0.25, Given: forestBand(r.Given), Drawn: &drawn}
		f.Rows = append(f.Rows, row)
	}
	return f
}

func trialsOf(r app.Ranked) string {
	if r.Trials == 1 {
		return "1 trial"
	}
	return fmt.Sprintf("%d trials", r.Trials)
}

func forestBand(b app.PoolBand) picture.ForestBand {
	return picture.ForestBand{Value: b.Value, Low: b.Low, High: b.High}
}
