package photo

import (
	"image"
	"image/color"

	"golang.org/x/image/draw"
)

// Fit returns the measures of a picture whose longer side is no longer than
// side. A smaller one keeps its own.
func Fit(width, height, side int) (int, int) {
	longer := max(width, height)
	if longer <= side {
		return width, height
	}
	return max(1, (width*side+longer/2)/longer), max(1, (height*side+longer/2)/longer)
}

// shrink returns the picture on white, its longer side no longer than side
// pixels. A smaller one keeps its size.
func shrink(p image.Image, side int) *image.RGBA {
	b := p.Bounds()
	w, h := Fit(b.Dx(), b.Dy(), side)
	out := image.NewRGBA(image.Rect(0, 0, w, h))
	draw.Draw(out, out.Rect, image.NewUniform(color.White), image.Point{}, draw.Src)
	// The quick way looks at four pixels for each that it draws: beyond a
	// factor of two it would leave some out, and fine mycelium would flicker.
	var by draw.Interpolator = draw.ApproxBiLinear
	if b.Dx() > 2*w {
		by = draw.BiLinear
	}
	by.Scale(out, out.Rect, p, b, draw.Over, nil)
	return out
}

// turn returns p upright. orientation is as in EXIF, 1 to 8: where the first
// row and the first column of the file belong.
//
// Source: CIPA DC-008-2019 (Exif 2.32), section 4.6.4.A, tag 274 Orientation.
func turn(p *image.RGBA, orientation int) *image.RGBA {
	if orientation < 2 || orientation > 8 {
		return p
	}
	w, h := p.Rect.Dx(), p.Rect.Dy()
	from := func(x, y int) (int, int) {
		switch orientation {
		case 2:
			return w - 1 - x, y
		case 3:
			return w - 1 - x, h - 1 - y
		case 4:
			return x, h - 1 - y
		case 5:
			return y, x
		case 6:
			return y, h - 1 - x
		case 7:
			return w - 1 - y, h - 1 - x
		}
		return w - 1 - y, x
	}
	across, down := w, h
	if orientation >= 5 {
		across, down = h, w
	}
	out := image.NewRGBA(image.Rect(0, 0, across, down))
	for y := range down {
		for x := range across {
			u, v := from(x, y)
			copy(out.Pix[y*out.Stride+4*x:][:4], p.Pix[v*p.Stride+4*u:][:4])
		}
	}
	return out
}
