package thermal

import (
	"math"

	"pinset/internal/calc/steam"
	"pinset/internal/figure"
	"pinset/internal/units"
)

// WaterPot is the vessel as a thing to be heated.
type WaterPot struct {
	Kg         float64 `json:"kg" jsonschema:"mass of the pot with its lid, above 0"`
	KJKgK      float64 `json:"kj_kgk" jsonschema:"heat capacity of the metal: aluminium 0.90, stainless steel 0.49"`
	DiameterMM float64 `json:"diameter_mm" jsonschema:"outer diameter of the pot"`
	HeightMM   float64 `json:"height_mm" jsonschema:"outer height of the pot"`
}

// WaterInput asks for the water and energy of a cook. With a measured loss
// the burner, efficiency and pot may be left out; then what they tell is null.
type WaterInput struct {
	BurnerW            *float64  `json:"burner_w,omitempty" jsonschema:"power of the burner, 100 to 20000 W; may be left out with a measured loss"`
	Efficiency         *float64  `json:"efficiency,omitempty" jsonschema:"share of the burner's heat that enters the pot, 0 to 1"`
	Pot                *WaterPot `json:"pot,omitempty" jsonschema:"the cooker, for what it takes to heat and what it loses; may be left out with a measured loss"`
	WaterL             float64   `json:"water_l" jsonschema:"water poured in, above 0"`
	LoadKg             float64   `json:"load_kg" jsonschema:"substrate in the pot, wet"`
	LoadKJKgK          *float64  `json:"load_kj_kgk,omitempty" jsonschema:"heat capacity of the substrate; 3.05, wet grain, if left out"`
	GlassKg            float64   `json:"glass_kg,omitempty" jsonschema:"mass of the empty jars; none if left out"`
	RoomC              float64   `json:"room_c" jsonschema:"temperature of the room and of all that is heated"`
	AltitudeM          *float64  `json:"altitude_m,omitempty" jsonschema:"height above the sea, -500 to 5500 m; may be left out with a measured loss and no burner"`
	GaugePsi           float64   `json:"gauge_psi" jsonschema:"pressure that the gauge shows during the hold"`
	RatedPsi           *float64  `json:"rated_psi,omitempty" jsonschema:"pressure on the pot's nameplate; left out, nothing is checked against it"`
	VentMin            float64   `json:"vent_min" jsonschema:"minutes of open venting before the weight goes on"`
	HoldMin            float64   `json:"hold_min" jsonschema:"minutes at pressure, above 0"`
	ThrottleSurplusW   *float64  `json:"throttle_surplus_w,omitempty" jsonschema:"heat above the losses while holding; a full burner if left out"`
	MeasuredLossMlPerH *float64  `json:"measured_loss_ml_per_h,omitempty" jsonschema:"water that this pot lost on this burner; stands in place of the estimate"`
	ReserveMl          *float64  `json:"reserve_ml,omitempty" jsonschema:"water to be left at the end; 1000 mL if left out"`
}

// WaterResult is the budget.
type WaterResult struct {
	LossW      *float64 `json:"loss_w"`      // from pot to room while holding
	HeatUpMin  *float64 `json:"heat_up_min"` // from room_c to the pot's temperature
	EnergyKWh  *float64 `json:"energy_kwh"`  // drawn by the burner, whole cook
	HeatKJ     *float64 `json:"heat_kj"`     // to warm pot, water and load
	VentL      *float64 `json:"vent_l"`      // blown off while venting
	HoldL      float64  `json:"hold_l"`      // boiled off while holding
	NeededL    float64  `json:"needed_l"`    // vent + hold + reserve
	LeftL      float64  `json:"left_l"`      // of water_l at the end, at least 0
	DryAtMin   *float64 `json:"dry_at_min"`  // of the hold; null if nothing boils off
	FlashShare *float64 `json:"flash_share"` // of the free water in open jars that boils off as the pressure falls
}

// lossCoefficient is the heat that the outside of a pot gives to the room,
// by air and by radiation: 8 to 14 W/m2K for a vessel near 100 °C in still
// air (Churchill and Chu, with an emissivity of 0.3 to 0.9). The budget is
// not felt much: 30 % of the loss are 0.1 L in an hour and a half.
const lossCoefficient = 10.0

// The specific heats that are assumed, kJ/kgK.
const (
	waterHeat = 4.20 // mean of 20 to 121 °C, steam tables
	loadHeat  = 3.05 // wet grain at 55 %, Choi and Okos
	glassHeat = 0.84 // soda-lime, from memory
)

// defaultReserve keeps the bottom wet at the end, ml; common practice, no
// source.
const defaultReserve = 1000.0

// warming is what a pot has to warm: masses and specific heats.
type warming struct{ kg, kjKgK float64 }

// heatToWarm returns kJ for a rise of dT kelvin: the sum of m c dT.
func heatToWarm(items []warming, dT float64) float64 {
	sum := 0.0
	for _, w := range items {
		sum += w.kg * w.kjKgK * dT
	}
	return sum
}

// heatUpMinutes returns how long netW take to warm capacity (J/K) from the
// room by rise kelvin while lossWK per kelvin leaks away, and false if they
// never do. It solves C dT/dt = P - h A (T - T_room).
func heatUpMinutes(netW, capacity, lossWK, rise float64) (float64, bool) {
	if !(netW > lossWK*rise) {
		return 0, false
	}
	if lossWK*rise < 1e-9*netW {
		return capacity * rise / netW / 60, true
	}
	return -capacity / lossWK * math.Log1p(-lossWK*rise/netW) / 60, true
}

// boilOff returns the litres that watts boil away in minutes at t. One kg of
// water poured is taken as one litre.
func boilOff(watts, minutes float64, t units.Celsius) (float64, error) {
	heat, err := steam.LatentHeat(units.Kelvin(float64(t) + 273.15))
	if err != nil {
		return 0, err
	}
	return max(watts, 0) * minutes * 60 / heat, nil
}

// Water reckons the water and energy of a cook from a heat balance. A loss
// measured on the same pot and burner replaces the estimate.
func Water(in WaterInput) (figure.Answer[WaterResult], error) {
	none := figure.Answer[WaterResult]{}
	p, err := checkWater(in)
	if err != nil {
		return none, err
	}
	b, err := newBudget(in, p)
	if err != nil {
		return none, err
	}
	r, err := b.result()
	if err != nil {
		return none, err
	}
	return figure.Answer[WaterResult]{Result: r, Cautions: b.cautions(r), Working: b.working(r)}, nil
}

// budget is a cook being reckoned.
type budget struct {
	in       WaterInput
	pot      pot
	burner   bool    // burner, efficiency and pot are known
	netW     float64 // into the pot at full burner
	lossWK   float64 // to the room, per kelvin
	surplusW float64 // above the loss while holding
	heatKJ   float64
}

// newBudget finds the powers.
func newBudget(in WaterInput, p pot) (budget, error) {
	b := budget{in: in, pot: p, burner: in.BurnerW != nil}
	if !b.burner {
		return b, nil
	}
	b.netW = *in.BurnerW * *in.Efficiency
	b.lossWK = lossCoefficient * potArea(*in.Pot)
	b.heatKJ = heatToWarm(b.items(), float64(p.temp)-in.RoomC)
	b.surplusW = b.netW - b.loss(p.temp)
	if in.ThrottleSurplusW != nil {
		b.surplusW = min(b.surplusW, *in.ThrottleSurplusW)
	}
	if in.MeasuredLossMlPerH != nil {
		heat, err := steam.LatentHeat(units.Kelvin(float64(p.temp) + 273.15))
		if err != nil {
			return b, err
		}
		b.surplusW = *in.MeasuredLossMlPerH / 1000 * heat / 3600
	}
	return b, nil
}

// potArea is side and lid, m2.
func potArea(p WaterPot) float64 {
	d, h := p.DiameterMM/1000, p.HeightMM/1000
	return math.Pi*d*h + math.Pi*d*d/4
}

// items is what is warmed.
func (b budget) items() []warming {
	load := loadHeat
	if b.in.LoadKJKgK != nil {
		load = *b.in.LoadKJKgK
	}
	return []warming{
		{b.in.Pot.Kg, b.in.Pot.KJKgK},
		{b.in.WaterL, waterHeat},
		{b.in.LoadKg, load},
		{b.in.GlassKg, glassHeat},
	}
}

// loss is the power from the pot at t to the room.
func (b budget) loss(t units.Celsius) float64 { return b.lossWK * (float64(t) - b.in.RoomC) }

// result adds it all up.
func (b budget) result() (WaterResult, error) {
	perHour, err := b.holdLitresPerHour()
	if err != nil {
		return WaterResult{}, err
	}
	r := WaterResult{HoldL: perHour * b.in.HoldMin / 60}
	if err := b.addFlash(&r); err != nil {
		return r, err
	}
	if err := b.addBurner(&r); err != nil {
		return r, err
	}
	reserve := defaultReserve
	if b.in.ReserveMl != nil {
		reserve = *b.in.ReserveMl
	}
	vent := 0.0
	if r.VentL != nil {
		vent = *r.VentL
	}
	r.NeededL = vent + r.HoldL + reserve/1000
	r.LeftL = max(b.in.WaterL-vent-r.HoldL, 0)
	if perHour > 0 {
		dry := max((b.in.WaterL-vent)/perHour*60, 0)
		r.DryAtMin = &dry
	}
	return r, nil
}

// holdLitresPerHour is the boil-off while holding, measured or reckoned.
func (b budget) holdLitresPerHour() (float64, error) {
	if b.in.MeasuredLossMlPerH != nil {
		return *b.in.MeasuredLossMlPerH / 1000, nil
	}
	return boilOff(b.surplusW, 60, b.pot.temp)
}

// addFlash fills in what boils off as hot water falls to its boiling point:
// c_p dT / h_fg.
func (b budget) addFlash(r *WaterResult) error {
	if b.in.AltitudeM == nil {
		return nil
	}
	latent, err := steam.LatentHeat(units.Kelvin(float64(b.pot.boiling) + 273.15))
	if err != nil {
		return err
	}
	const heat = 4220 // J/kgK, water near 110 °C, steam tables
	share := heat * float64(b.pot.temp-b.pot.boiling) / latent
	r.FlashShare = &share
	return nil
}

// addBurner fills in what only the burner and the pot tell.
func (b budget) addBurner(r *WaterResult) error {
	if b.in.VentMin == 0 {
		zero := 0.0
		r.VentL = &zero
	}
	if !b.burner {
		return nil
	}
	vent, err := boilOff(b.netW-b.loss(b.pot.boiling), b.in.VentMin, b.pot.boiling)
	if err != nil {
		return err
	}
	loss, heat := b.loss(b.pot.temp), b.heatKJ
	r.VentL, r.LossW, r.HeatKJ = &vent, &loss, &heat
	rise := float64(b.pot.temp) - b.in.RoomC
	if m, ok := heatUpMinutes(b.netW, heat*1000/rise, b.lossWK, rise); ok {
		r.HeatUpMin = &m
		holdW := min((loss+max(b.surplusW, 0)) / *b.in.Efficiency, *b.in.BurnerW)
		kwh := (*b.in.BurnerW*(m+b.in.VentMin) + holdW*b.in.HoldMin) / 60 / 1000
		r.EnergyKWh = &kwh
	}
	return nil
}
