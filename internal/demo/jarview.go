package demo

import (
	"bytes"
	"image"
	"image/color"
	"image/jpeg"
	"math"
	"math/rand/v2"
)

// look is how a jar looks on one day. No such jar was ever grown.
type look struct {
	seed   uint64  // of the jar: its grain and its fruit stay where they are
	cover  float64 // share of the cake that is white, from the top, 0 to 1
	colour float64 // how far the white has turned orange, 0 to 1
	fruit  float64 // how high the fruit stands, as a share of the room above the cake, 0 to 1
	mould  float64 // radius of a green patch, as a share of the cake's width, 0 to 1
}

// The picture, in pixels: a jar on a board, seen from the side.
const (
	wide, high             = 360, 480
	glassLeft, glassRight  = 84.0, 276.0
	glassTop, glassBottom  = 78.0, 440.0
	cakeTop                = 330.0
	lidTop, corner, border = 46.0, 26.0, 5.0
	clubs                  = 17
)

// tone is a colour, 0 to 1 each.
type tone struct{ r, g, b float64 }

var (
	wall   = tone{0.35, 0.36, 0.33}
	board  = tone{0.46, 0.33, 0.22}
	tin    = tone{0.68, 0.69, 0.70}
	within = tone{0.23, 0.24, 0.22}
	glass  = tone{0.62, 0.67, 0.64}
	grain  = tone{0.55, 0.40, 0.22}
	husk   = tone{0.36, 0.24, 0.12}
	white  = tone{0.93, 0.91, 0.86}
	orange = tone{0.93, 0.50, 0.13}
	green  = tone{0.33, 0.45, 0.30}
)

func (t tone) mix(u tone, share float64) tone {
	share = min(1, max(0, share))
	return tone{t.r + share*(u.r-t.r), t.g + share*(u.g-t.g), t.b + share*(u.b-t.b)}
}

func (t tone) lit(by float64) tone { return tone{t.r * by, t.g * by, t.b * by} }

// club is one fruit: where it stands, how high it will be, how it leans.
type club struct{ x, share, lean, thick float64 }

// draw returns the look as the JPEG that a camera would send.
func (l look) draw() ([]byte, error) {
	s := scene{look: l, rough: rand.New(rand.NewPCG(l.seed, 3))}
	for range clubs {
		s.clubs = append(s.clubs, club{
			x: glassLeft + 22 + s.rough.Float64()*(glassRight-glassLeft-44), share: 0.55 + 0.45*s.rough.Float64(),
			lean: 26 * (s.rough.Float64() - 0.5), thick: 4 + 2.5*s.rough.Float64(),
		})
	}
	p := image.NewRGBA(image.Rect(0, 0, wide, high))
	for y := range high {
		for x := range wide {
			t := s.at(float64(x), float64(y)).lit(1 + 0.05*(s.rough.Float64()-0.5)) // the grain of a small sensor
			p.SetRGBA(x, y, color.RGBA{level(t.r), level(t.g), level(t.b), 255})
		}
	}
	var b bytes.Buffer
	err := jpeg.Encode(&b, p, &jpeg.Options{Quality: 82})
	return b.Bytes(), err
}

func level(v float64) uint8 { return uint8(math.Round(255 * min(1, max(0, v)))) }

// scene is a look with what is drawn by lot.
type scene struct {
	look
	rough *rand.Rand
	clubs []club
}

// at is the tone at a point.
func (s scene) at(x, y float64) tone {
	t := wall.lit(1.15 - 0.5*y/high)
	if y > glassBottom-8 {
		t = board.lit(0.85 + 0.12*math.Sin(y*0.9+3*math.Sin(x*0.02)))
		t = t.lit(1 - 0.45*math.Exp(-math.Hypot((x-180)/90, (y-glassBottom)/14)))
	}
	if in := edge(box(x, y, glassLeft-4, lidTop, glassRight+4, glassTop+8, 6)); in > 0 {
		t = t.mix(tin.lit(0.8+0.35*math.Cos((x-150)/70)), in)
		t = t.mix(white, edge(math.Hypot(x-180, (y-65)*2)-13)) // the patch that lets air through
	}
	in := edge(box(x, y, glassLeft, glassTop, glassRight, glassBottom, corner))
	if in == 0 {
		return t
	}
	inner := edge(box(x, y, glassLeft+border, glassTop+2, glassRight-border, glassBottom-border, corner-border))
	body := glass.mix(s.inside(x, y), inner)
	shine := math.Exp(-math.Pow((x-glassLeft-26)/9, 2)) * edge(glassTop+30-y) * edge(y-glassBottom+40)
	round := 0.72 + 0.34*math.Sqrt(max(0, 1-math.Pow((x-180)/100, 2)))
	return t.mix(body.lit(round).mix(tone{1, 1, 1}, 0.32*shine), in)
}

// inside is the tone behind the glass.
func (s scene) inside(x, y float64) tone {
	t := within
	for _, c := range s.clubs {
		top := cakeTop - s.fruit*c.share*(cakeTop-glassTop-24)
		if s.fruit <= 0 || y < top-2*c.thick {
			continue
		}
		up := (cakeTop - y) / max(1, cakeTop-top)
		middle := c.x + c.lean*up*up
		thick := c.thick * (0.62 + 0.5*up)
		off := math.Abs(x-middle) - thick
		if y < top {
			off = math.Hypot(x-middle, y-top) - thick
		}
		t = t.mix(orange.mix(white, 0.3*(1-up)).lit(1.05-0.3*math.Abs(x-middle)/thick), edge(off))
	}
	surface := cakeTop + 3*math.Sin(x*0.06+float64(s.seed%7))
	return t.mix(s.cake(x, y), edge(surface-y))
}

// cake is the tone of the cake at a point: grain, and what has grown over it.
func (s scene) cake(x, y float64) tone {
	t := grain.mix(husk, 0.5+0.5*math.Sin(x*0.55+2*math.Sin(y*0.31))*math.Sin(y*0.62+2*math.Sin(x*0.23)))
	ragged := 7*math.Sin(x*0.11+float64(s.seed%11)) + 4*math.Sin(x*0.29)
	front := cakeTop + s.cover*(glassBottom-cakeTop+12) + ragged*edge2(s.cover)
	grown := white.mix(orange, 0.75*s.colour).lit(0.97 + 0.04*math.Sin(x*0.21+y*0.17))
	if s.cover > 0 {
		t = t.mix(grown, 1/(1+math.Exp((y-front)/4)))
	}
	if s.mould > 0 {
		r := s.mould * (glassRight - glassLeft) / 2
		off := math.Hypot(x-214, (y-352)*1.2) - r
		t = t.mix(white, edge(off-4)).mix(green.lit(0.9+0.15*math.Sin(x*0.7)*math.Sin(y*0.8)), 1/(1+math.Exp(off/3)))
	}
	return t
}

// edge2 is 0 for nothing and for all of it, 1 between.
func edge2(share float64) float64 { return min(1, 6*share) * min(1, 6*(1-min(1, share))) }

// edge turns a distance, negative inside, into how much of a pixel is covered.
func edge(off float64) float64 { return min(1, max(0, 0.5-off)) }

// box is the distance of a point to a box with round corners.
func box(x, y, left, top, right, bottom, round float64) float64 {
	dx := math.Abs(x-(left+right)/2) - (right-left)/2 + round
	dy := math.Abs(y-(top+bottom)/2) - (bottom-top)/2 + round
	return math.Hypot(max(dx, 0), max(dy, 0)) + min(max(dx, dy), 0) - round
}
