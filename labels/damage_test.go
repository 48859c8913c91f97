package labels

import (
	"image"
	"image/color"
	"image/draw"
	"math"
	"math/rand/v2"
)

// damage is what a shop does to a printed code. It gets a picture of the code with its
// quiet zone, whose symbol lies at at, and gives another one.
type damage struct {
	name string
	do   func(img *image.Gray, at image.Rectangle, module float64, r *rand.Rand) *image.Gray
}

// The soils: stains over parts of the symbol's area, as oil and chips leave them; a lens
// out of focus, paper folded once, a sheet held askew, a shop with little light.
var damages = []damage{
	{"clean", func(img *image.Gray, _ image.Rectangle, _ float64, _ *rand.Rand) *image.Gray { return img }},
	{"oil 5 %", stained(0.05, 1, oil)},
	{"oil 10 %", stained(0.10, 1, oil)},
	{"oil 16 %", stained(0.16, 1, oil)},
	{"paint 5 %", stained(0.05, 1, paint)},
	{"paint 10 %", stained(0.10, 1, paint)},
	{"paint 16 %", stained(0.16, 1, paint)},
	{"spots 5 %", stained(0.05, 5, paint)},
	{"blur", blurred},
	{"fold", folded},
	{"tilt", tilted},
	{"dim", dimmed},
}

func copyOf(img *image.Gray) *image.Gray {
	out := image.NewGray(img.Bounds())
	copy(out.Pix, img.Pix)
	return out
}

// oil darkens paper to between a third and 60 %, as a drop of coolant or oil does; what is
// printed below stays darker.
func oil(r *rand.Rand) func(uint8) uint8 {
	thin := 0.33 + 0.27*r.Float64()
	return func(v uint8) uint8 { return uint8(float64(v) * thin) }
}

// paint hides what is below: grease and marker, or, one in three, a spot worn white.
func paint(r *rand.Rand) func(uint8) uint8 {
	ink := uint8(r.IntN(60))
	if r.IntN(3) == 0 {
		ink = uint8(235 + r.IntN(20))
	}
	return func(uint8) uint8 { return ink }
}

// stained lays blots of a kind on the symbol, whole ones within it, until a share of its
// area is covered: so many where they do not lie over each other.
func stained(share float64, blots int,
	of func(*rand.Rand) func(uint8) uint8) func(*image.Gray, image.Rectangle, float64,
	*rand.Rand) *image.Gray {
	return func(img *image.Gray, at image.Rectangle, _ float64, r *rand.Rand) *image.Gray {
		out := copyOf(img)
		area := float64(at.Dx() * at.Dy())
		covered := make([]bool, at.Dx()*at.Dy())
		n := 0
		for float64(n) < share*area {
			radius := math.Sqrt(area * share / float64(blots) / math.Pi)
			flat := 0.8 + 0.45*r.Float64()
			within := func(from, size int, half float64) float64 {
				return float64(from) + half + r.Float64()*(float64(size)-2*half)
			}
			cx, cy := within(at.Min.X, at.Dx(), radius*flat), within(at.Min.Y, at.Dy(), radius/flat)
			blot := of(r)
			for y := at.Min.Y; y < at.Max.Y && float64(n) < share*area; y++ {
				for x := at.Min.X; x < at.Max.X; x++ {
					dx, dy := (float64(x)-cx)/flat, (float64(y)-cy)*flat
					i := (y-at.Min.Y)*at.Dx() + x - at.Min.X
					if dx*dx+dy*dy > radius*radius || covered[i] {
						continue
					}
					covered[i] = true
					n++
					out.SetGray(x, y, color.Gray{blot(img.GrayAt(x, y).Y)})
				}
			}
		}
		return out
	}
}

// flipped turns a share of a symbol's modules, each so many dots wide, to the other colour:
// what correction takes for another codeword most easily. The corners stay, or nothing is read.
func flipped(img *image.Gray, at image.Rectangle, dot int, share float64, r *rand.Rand) *image.Gray {
	out, n := copyOf(img), at.Dx()/dot
	corner := func(x, y int) bool { return min(x, n-1-x) < 8 && min(y, n-1-y) < 8 && (x < 8 || y < 8) }
	for y := range n {
		for x := range n {
			if corner(x, y) || r.Float64() >= share {
				continue
			}
			from := at.Min.Add(image.Pt(x*dot, y*dot))
			ink := color.Gray{255 - img.GrayAt(from.X, from.Y).Y}
			draw.Draw(out, image.Rectangle{from, from.Add(image.Pt(dot, dot))}, image.NewUniform(ink),
				image.Point{}, draw.Src)
		}
	}
	return out
}

// blurred takes the mean over a square of a module and a quarter.
func blurred(img *image.Gray, _ image.Rectangle, module float64, _ *rand.Rand) *image.Gray {
	b, half := img.Bounds(), max(1, int(module*0.625))
	out := image.NewGray(b)
	w := b.Dx() + 1
	sums := make([]int, w*(b.Dy()+1))
	for y := range b.Dy() {
		for x := range b.Dx() {
			sums[(y+1)*w+x+1] = int(img.GrayAt(b.Min.X+x, b.Min.Y+y).Y) + sums[y*w+x+1] +
				sums[(y+1)*w+x] - sums[y*w+x]
		}
	}
	for y := range b.Dy() {
		for x := range b.Dx() {
			x0, y0, x1, y1 := max(0, x-half), max(0, y-half), min(b.Dx(), x+half+1), min(b.Dy(), y+half+1)
			sum := sums[y1*w+x1] - sums[y0*w+x1] - sums[y1*w+x0] + sums[y0*w+x0]
			out.SetGray(b.Min.X+x, b.Min.Y+y, color.Gray{uint8(sum / ((x1 - x0) * (y1 - y0)))})
		}
	}
	return out
}

// folded breaks the paper along a line across the symbol: a white crack of two thirds of a
// module, the part beyond a third of a module further on and darker.
func folded(img *image.Gray, at image.Rectangle, module float64, r *rand.Rand) *image.Gray {
	b := img.Bounds()
	out := image.NewGray(b)
	angle := (r.Float64() - 0.5) * math.Pi
	nx, ny := math.Cos(angle), math.Sin(angle)
	cx := float64(at.Min.X) + (0.3+0.4*r.Float64())*float64(at.Dx())
	cy := float64(at.Min.Y) + (0.3+0.4*r.Float64())*float64(at.Dy())
	for y := b.Min.Y; y < b.Max.Y; y++ {
		for x := b.Min.X; x < b.Max.X; x++ {
			d := (float64(x)-cx)*nx + (float64(y)-cy)*ny
			switch {
			case math.Abs(d) < module/3:
				out.SetGray(x, y, color.Gray{235})
			case d > 0:
				v := sampled(img, float64(x)-nx*module/3, float64(y)-ny*module/3)
				out.SetGray(x, y, color.Gray{uint8(v * 0.8)})
			default:
				out.SetGray(x, y, img.GrayAt(x, y))
			}
		}
	}
	return out
}

// sampled is the grey between the dots; beyond the picture it is white.
func sampled(img *image.Gray, x, y float64) float64 {
	x0, y0 := int(math.Floor(x)), int(math.Floor(y))
	at := func(x, y int) float64 {
		if !(image.Point{X: x, Y: y}.In(img.Bounds())) {
			return 255
		}
		return float64(img.GrayAt(x, y).Y)
	}
	fx, fy := x-float64(x0), y-float64(y0)
	return (at(x0, y0)*(1-fx)+at(x0+1, y0)*fx)*(1-fy) + (at(x0, y0+1)*(1-fx)+at(x0+1, y0+1)*fx)*fy
}

// tilted turns the sheet by up to 25 degrees in its plane and by up to 30 out of it.
func tilted(img *image.Gray, _ image.Rectangle, _ float64, r *rand.Rand) *image.Gray {
	b := img.Bounds()
	turn, lean := (r.Float64()-0.5)*50*math.Pi/180, r.Float64()*30*math.Pi/180
	side := int(1.5 * float64(max(b.Dx(), b.Dy())))
	out := image.NewGray(image.Rect(0, 0, side, side))
	c, mid := float64(side)/2, float64(b.Dx())/2
	away := 3 * mid // of the lens
	sin, cos := math.Sincos(turn)
	for y := range side {
		for x := range side {
			// The point of the sheet that a point of the picture shows: back through the lens,
			// then back by the turn.
			u, v := float64(x)-c, float64(y)-c
			depth := away * math.Cos(lean) / (away*math.Cos(lean) - v*math.Sin(lean))
			px, py := u*depth, v*depth/math.Cos(lean)
			out.SetGray(x, y, color.Gray{uint8(sampled(img, px*cos+py*sin+mid, -px*sin+py*cos+mid))})
		}
	}
	return out
}

// dimmed keeps a third of the contrast, brighter on one side than on the other, with noise.
func dimmed(img *image.Gray, _ image.Rectangle, _ float64, r *rand.Rand) *image.Gray {
	b := img.Bounds()
	out := image.NewGray(b)
	for y := b.Min.Y; y < b.Max.Y; y++ {
		for x := b.Min.X; x < b.Max.X; x++ {
			light := 25 + 30*float64(x-b.Min.X)/float64(b.Dx())
			v := light + float64(img.GrayAt(x, y).Y)*0.33 + r.NormFloat64()*5
			out.SetGray(x, y, color.Gray{uint8(min(255, max(0, v)))})
		}
	}
	return out
}

// padded gives a picture a white margin, as paper has around what is printed on it.
func padded(img *image.Gray, by int) *image.Gray {
	b := img.Bounds().Inset(-by)
	out := image.NewGray(image.Rect(0, 0, b.Dx(), b.Dy()))
	draw.Draw(out, out.Bounds(), image.White, image.Point{}, draw.Src)
	draw.Draw(out, img.Bounds().Add(image.Pt(by-img.Bounds().Min.X, by-img.Bounds().Min.Y)), img,
		img.Bounds().Min, draw.Src)
	return out
}
