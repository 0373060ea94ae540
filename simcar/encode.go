package simcar

import "math"

// parameter is one PID of service $01 that carries a single number:
// value = raw·scale + offset (SAE J1979 appendix B, as tabled in public summaries).
type parameter struct {
	pid           byte
	size          int // data bytes, 1, 2 or 4
	scale, offset float64
	signed        bool // two's complement
	from          func(*Condition) float64
}

const percent = 100.0 / 255

// parameters is the table of PIDs with a single number.
var parameters = []parameter{
	{0x04, 1, percent, 0, false, func(c *Condition) float64 { return c.LoadPct }},
	{0x05, 1, 1, -40, false, func(c *Condition) float64 { return c.CoolantC }},
	{0x06, 1, 100.0 / 128, -100, false, func(c *Condition) float64 { return c.ShortTrimPct }},
	{0x07, 1, 100.0 / 128, -100, false, func(c *Condition) float64 { return c.LongTrimPct }},
	{0x0B, 1, 1, 0, false, func(c *Condition) float64 { return c.MAPkPa }},
	{0x0C, 2, 0.25, 0, false, func(c *Condition) float64 { return c.RPM }},
	{0x0D, 1, 1, 0, false, func(c *Condition) float64 { return c.SpeedKMH }},
	{0x0E, 1, 0.5, -64, false, func(c *Condition) float64 { return c.SparkDeg }},
	{0x0F, 1, 1, -40, false, func(c *Condition) float64 { return c.IntakeC }},
	{0x10, 2, 0.01, 0, false, func(c *Condition) float64 { return c.MAFgs }},
	{0x11, 1, percent, 0, false, func(c *Condition) float64 { return c.ThrottlePct }},
	{0x1F, 2, 1, 0, false, func(c *Condition) float64 { return math.Floor(c.RunTime.Seconds()) }},
	{0x21, 2, 1, 0, false, func(c *Condition) float64 { return c.MILOnKM }},
	{0x2E, 1, percent, 0, false, func(c *Condition) float64 { return c.PurgePct }},
	{0x2F, 1, percent, 0, false, func(c *Condition) float64 { return c.FuelLevelPct }},
	{0x30, 1, 1, 0, false, func(c *Condition) float64 { return c.WarmUps }},
	{0x31, 2, 1, 0, false, func(c *Condition) float64 { return c.ClearedKM }},
	{0x32, 2, 0.25, 0, true, func(*Condition) float64 { return -1 }},
	{0x33, 1, 1, 0, false, func(c *Condition) float64 { return c.BaroKPa }},
	{0x42, 2, 0.001, 0, false, func(c *Condition) float64 { return c.Volts }},
	{0x43, 2, percent, 0, false, func(c *Condition) float64 { return c.AbsLoadPct }},
	{0x44, 2, 2.0 / 65536, 0, false, func(c *Condition) float64 { return c.Lambda }},
	{0x45, 1, percent, 0, false, func(c *Condition) float64 { return c.RelThrottlePct }},
	{0x46, 1, 1, -40, false, func(c *Condition) float64 { return c.AmbientC }},
	{0x49, 1, percent, 0, false, func(c *Condition) float64 { return c.PedalPct }},
	{0x4A, 1, percent, 0, false, func(c *Condition) float64 { return c.PedalPct / 2 }},
	{0x4C, 1, percent, 0, false, func(c *Condition) float64 { return c.CommandedPct }},
	{0x5A, 1, percent, 0, false, func(c *Condition) float64 { return c.RelPedalPct }},
	{0x5C, 1, 1, -40, false, func(c *Condition) float64 { return c.OilC }},
	{0x5E, 2, 0.05, 0, false, func(c *Condition) float64 { return c.FuelRateLPH }},
	{0x61, 1, 1, -125, false, func(c *Condition) float64 { return c.DemandTorquePct }},
	{0x62, 1, 1, -125, false, func(c *Condition) float64 { return c.TorquePct }},
	{0x63, 2, 1, 0, false, func(c *Condition) float64 { return c.RefTorqueNm }},
	{0xA6, 4, 0.1, 0, false, func(c *Condition) float64 { return c.OdometerKM }},
}

// record is one PID whose data are more than a single number.
type record struct {
	pid   byte
	bytes func(*Condition, *ECU) []byte
}

// records is the table of PIDs that are bit fields or several numbers.
var records = []record{
	{0x01, func(_ *Condition, e *ECU) []byte { return e.monitorStatus() }},
	{0x03, func(c *Condition, _ *ECU) []byte { return []byte{c.FuelSystem, 0} }},
	{0x13, func(*Condition, *ECU) []byte { return []byte{0x03} }}, // bank 1, sensors 1 and 2
	{0x14, func(*Condition, *ECU) []byte { return []byte{0x5A, 0x80} }},
	{0x15, func(*Condition, *ECU) []byte { return []byte{0x82, 0xFF} }}, // FF: not used for trim
	{0x1C, func(_ *Condition, e *ECU) []byte { return []byte{e.Requirement} }},
	{0x24, func(c *Condition, _ *ECU) []byte { return append(number(0x44, c), 0x33, 0x33) }},
	{0x41, func(*Condition, *ECU) []byte { return []byte{0x00, 0x07, 0xE1, 0x21} }},
	{0x51, func(*Condition, *ECU) []byte { return []byte{0x01} }}, // gasoline
	{0x66, massAirFlow},
	{0x67, func(c *Condition, _ *ECU) []byte { return append([]byte{0x01}, append(number(0x05, c), 0)...) }},
	{0xA4, actualGear},
}

// The tables again, by PID: the reply path is the hot path.
var (
	parameterOf [256]*parameter
	recordOf    [256]*record
)

func init() {
	for i := range parameters {
		parameterOf[parameters[i].pid] = &parameters[i]
	}
	for i := range records {
		recordOf[records[i].pid] = &records[i]
	}
}

// append adds the coded value to dst and returns the value as coded.
func (p *parameter) append(dst []byte, c *Condition) ([]byte, float64) {
	low, high := 0.0, math.Exp2(float64(8*p.size))-1
	if p.signed {
		low, high = -math.Exp2(float64(8*p.size-1)), math.Exp2(float64(8*p.size-1))-1
	}
	raw := math.Round((p.from(c) - p.offset) / p.scale)
	if !(raw > low) { // also NaN
		raw = low
	}
	raw = min(raw, high)
	bits := uint64(int64(raw))
	for i := p.size - 1; i >= 0; i-- {
		dst = append(dst, byte(bits>>(8*i)))
	}
	return dst, raw*p.scale + p.offset
}

// number is the coded value of a PID of the parameter table alone.
func number(pid byte, c *Condition) []byte {
	b, _ := parameterOf[pid].append(nil, c)
	return b
}

// massAirFlow is PID $66: support bits, then sensor A and B, each u16/32 g/s.
func massAirFlow(c *Condition, _ *ECU) []byte {
	raw := uint16(min(max(math.Round(c.MAFgs*32), 0), math.MaxUint16))
	return []byte{0x01, byte(raw >> 8), byte(raw), 0, 0}
}

// actualGear is PID $A4: support bits, gear in the upper nibble (from memory), ratio·1000.
func actualGear(c *Condition, _ *ECU) []byte {
	var support byte
	if c.Gear > 0 || c.Neutral {
		support |= 1
	}
	if c.GearRatio > 0 {
		support |= 2
	}
	ratio := uint16(min(max(math.Round(c.GearRatio*1000), 0), math.MaxUint16))
	return []byte{support, byte(c.Gear) << 4, byte(ratio >> 8), byte(ratio)}
}

// supportMap is the four-byte map for base: bit 31 is base+1, bit 0 is base+$20
// (SAE J1979: bit 0 also says that the next map exists).
func supportMap(base byte, has func(byte) bool) [4]byte {
	var m [4]byte
	for i := range 32 {
		id := int(base) + i + 1
		if id <= 0xFF && has(byte(id)) {
			m[i/8] |= 0x80 >> (i % 8)
		}
	}
	return m
}
