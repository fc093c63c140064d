package substrate

import (
	"math"

	"pinset/internal/figure"
)

// answer puts the batch into figures.
func (b *batch) answer() figure.Answer[SubstrateResult] {
	jars := float64(b.in.Jars)
	all, jar := b.sum(), b.jar
	r := SubstrateResult{
		Batch:    make(map[string]map[string]float64, len(b.mixes)),
		VolumeML: make(map[string]*float64, len(b.mixes)),
		Broth:    map[string]Solution{},
		Mixes:    make(map[string]Balance, len(b.mixes)),
	}
	for i := range b.mixes {
		m := &b.mixes[i]
		grams := make(map[string]float64, len(m.parts))
		for j := range m.parts {
			grams[m.parts[j].label] += m.parts[j].grams * m.needK
		}
		r.Batch[m.mix.Name] = grams
		r.Mixes[m.mix.Name] = m.whole.balance(m.needK)
		if v, ok := m.madeVolume(); ok {
			r.VolumeML[m.mix.Name] = ptr(v * m.needK)
		} else {
			r.VolumeML[m.mix.Name] = nil
		}
		if m.pours() {
			r.Broth[m.mix.Name] = m.solution()
		}
	}
	liquid := b.liquidML()
	if b.beyond != nil {
		water := waterBlend()
		r.AsWritten = &AsWritten{WetG: jar.mass, MoisturePct: percent(jar.moisture())}
		jar.add(&water, *b.beyond)
		all.add(&water, *b.beyond*jars)
		liquid += *b.beyond / waterDensity
		r.WaterBeyondG = ptr(*b.beyond * jars)
	}
	r.TotalG = all.mass
	if all.noWater == 0 {
		r.WaterTotalG = ptr(all.water)
	}
	if b.in.TargetMoisturePct == nil || b.beyond != nil {
		r.WaterToAddG = ptr(math.Max(0, all.poured))
	}
	if all.noCost == 0 {
		r.CostTotal, r.CostPerJar = ptr(all.cost), ptr(all.cost/jars)
	}
	r.PerJar = perJar(&jar, liquid)
	r.Total = all.balance(1)
	if r.CostPerJar != nil {
		r.CostPerKg = ptr(*r.CostPerJar / jar.mass * 1000)
	}
	if lc := b.in.LCMLPerJar; lc != nil {
		r.PerJar.LCMLPerKg = ptr(*lc / jar.mass * 1000)
	}
	r.SteamOff = steamOff(&jar, b.in.CookDropC)
	b.room(&r, &jar)
	a := figure.Answer[SubstrateResult]{Result: r, Cautions: b.cautions(&r, &jar)}
	a.Working = b.working(&r, &jar)
	return a
}

// madeVolume is the volume of m's size, mL: as it pours, or as scooped.
func (m *made) madeVolume() (float64, bool) {
	if v, ok := m.fillVolume(""); ok {
		return v, true
	}
	return m.whole.heaped, m.whole.noHeap == 0 && m.whole.heaped > 0 && m.whole.poured == 0
}

// liquidML is the liquid in one jar, mL: of mixes that pour all, of others
// the fluids.
func (b *batch) liquidML() float64 {
	sum := 0.0
	for i := range b.mixes {
		if m := &b.mixes[i]; m.pours() {
			sum += m.whole.volume * m.fillK
		} else {
			sum += m.whole.fluid * m.fillK
		}
	}
	return sum
}

func perJar(jar *blend, liquid float64) PerJar {
	p := PerJar{
		WetG: jar.mass, DryG: jar.dry(), MoisturePct: percent(jar.moisture()),
		NG: jar.nitrogen(), CG: jar.carbon(), CN: jar.cn(), NPctDry: percent(jar.nOfDry()),
		AshG: unlessAny(jar.ash, jar.noAsh), FatG: unlessAny(jar.fat, jar.noFat), MoisturePctDry: jar.moistureOfDry(),
	}
	if jar.grain > 0 {
		p.MLPerG = ptr(liquid / jar.grain)
	}
	return p
}

// room finds how deep the substrate stands. It fills at least what its parts
// displace, and at least what its solids fill as scooped; where that is
// unknown, only the first is counted.
func (b *batch) room(r *SubstrateResult, jar *blend) {
	c := b.in.Container
	if c == nil {
		return
	}
	area := c.BoreMM * c.BoreMM // mm2
	if c.Shape != "block" {
		area *= math.Pi / 4
	}
	depth := math.Max(jar.volume, jar.heaped) * 1000 / area
	r.PerJar.DepthMM, r.SurfaceCM2 = ptr(depth), ptr(area/100)
	if c.HeightMM > 0 {
		r.HeadspaceMM = ptr(c.HeightMM - depth)
	}
}

// balance is the mass balance of k times b.
func (b *blend) balance(k float64) Balance {
	var all blend
	all.add(b, k)
	return Balance{
		WetG: all.mass, DryG: all.dry(), MoisturePct: percent(all.moisture()), MoisturePctDry: all.moistureOfDry(),
		NG: all.nitrogen(), CG: all.carbon(), CN: all.cn(),
		AshG: unlessAny(all.ash, all.noAsh), FatG: unlessAny(all.fat, all.noFat), Cost: unlessAny(all.cost, all.noCost),
	}
}

// moistureOfDry is water over dry matter in per cent, nil if unknown or if
// there is no dry matter.
func (b *blend) moistureOfDry() *float64 {
	dry := b.dry()
	if dry == nil || !(*dry > 0) {
		return nil
	}
	return ptr(100 * b.water / *dry)
}

func percent(x *float64) *float64 {
	if x == nil {
		return nil
	}
	return ptr(100 * *x)
}
