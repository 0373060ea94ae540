package table

import (
	"math"
	"strings"

	"github.com/judder-obd/judder/pids"
)

// scale is how a value in one unit becomes one in another: value·factor + offset.
type scale struct{ factor, offset float64 }

func (s scale) of(v float64) float64 {
	if s == (scale{1, 0}) {
		return v
	}
	return math.Round((v*s.factor+s.offset)*1e9) / 1e9 // without the digits that only the computation made
}

// spelt is a unit, how else it is written, and what it is worth in the unit of the table of
// parameters. Spellings are in lower case; common practice, no source.
type spelt struct {
	unit     string
	also     []string
	into     string // a unit of the table of parameters
	worth    scale
	anywhere bool // it may end a heading without brackets, as in speed_kmh
}

// Factors are those of NIST Special Publication 811, appendix B; units_test.go holds them against
// GNU Units.
var units = []spelt{
	{"rpm", []string{"r/min", "1/min", "/min", "min-1", "min^-1", "min⁻¹", "u/min", "revs/min", "rev/min"}, "rpm", scale{1, 0}, true},
	{"1/s", []string{"rps", "r/s", "rev/s", "s-1", "hz"}, "rpm", scale{60, 0}, false},
	{"rad/s", nil, "rpm", scale{30 / math.Pi, 0}, false},
	{"km/h", []string{"kmh", "kph", "km/hr", "kmph", "km/hour"}, "km/h", scale{1, 0}, true},
	{"mph", []string{"mi/h", "mile/h", "miles/h", "miles/hour"}, "km/h", scale{1.609344, 0}, true},
	{"m/s", []string{"mps"}, "km/h", scale{3.6, 0}, false},
	{"kn", []string{"kt", "kts", "knot", "knots"}, "km/h", scale{1.852, 0}, false},
	{"°C", []string{"degc", "deg c", "deg. c", "c", "celsius", "˚c", "ºc", "℃"}, "°C", scale{1, 0}, true},
	{"°F", []string{"degf", "deg f", "deg. f", "f", "fahrenheit", "˚f", "ºf", "℉"}, "°C", scale{5. / 9, -160. / 9}, true},
	{"K", []string{"kelvin"}, "°C", scale{1, -273.15}, false},
	{"%", []string{"percent", "pct", "per cent"}, "%", scale{1, 0}, true},
	{"kPa", nil, "kPa", scale{1, 0}, true},
	{"Pa", nil, "kPa", scale{0.001, 0}, false},
	{"hPa", []string{"mbar"}, "kPa", scale{0.1, 0}, true},
	{"bar", nil, "kPa", scale{100, 0}, true},
	{"MPa", nil, "kPa", scale{1000, 0}, false},
	{"psi", []string{"lbf/in²", "lbf/in2", "psia"}, "kPa", scale{6.894757, 0}, true},
	{"inHg", []string{"in hg", "inhg abs"}, "kPa", scale{3.386389, 0}, true},
	{"mmHg", []string{"mm hg", "torr"}, "kPa", scale{0.1333224, 0}, true},
	{"V", []string{"volt", "volts"}, "V", scale{1, 0}, true},
	{"mV", []string{"millivolt", "millivolts"}, "V", scale{0.001, 0}, true},
	{"mA", nil, "mA", scale{1, 0}, false},
	{"g/s", []string{"gps", "grams/sec", "g/sec"}, "g/s", scale{1, 0}, false},
	{"kg/h", []string{"kg/hr"}, "g/s", scale{1 / 3.6, 0}, false},
	{"lb/min", []string{"lbs/min"}, "g/s", scale{7.559873, 0}, false},
	{"N·m", []string{"nm", "n.m", "n m", "n-m"}, "N·m", scale{1, 0}, false},
	{"lbf·ft", []string{"lb-ft", "lb·ft", "lbft", "lb ft", "ft-lb", "ft·lb", "ft lb", "ftlb", "lbf ft"}, "N·m", scale{1.355818, 0}, false},
	{"°", []string{"deg", "degree", "degrees"}, "°", scale{1, 0}, true},
	{"km", nil, "km", scale{1, 0}, true},
	{"mi", []string{"mile", "miles"}, "km", scale{1.609344, 0}, true},
	{"L/h", []string{"lph", "l/hr"}, "L/h", scale{1, 0}, false},
	{"s", []string{"sec", "secs", "second", "seconds"}, "s", scale{1, 0}, true},
	{"ms", []string{"msec", "millis", "millisecond", "milliseconds"}, "s", scale{1e-3, 0}, true},
	{"µs", []string{"us", "μs", "usec", "micros", "microsecond", "microseconds"}, "s", scale{1e-6, 0}, true},
	{"ns", []string{"nanosecond", "nanoseconds"}, "s", scale{1e-9, 0}, true},
	{"min", []string{"mins", "minute", "minutes"}, "s", scale{60, 0}, false},
	{"h", []string{"hr", "hour", "hours"}, "s", scale{3600, 0}, false},
}

// unitsBySpelling finds a unit by any of its spellings, in lower case.
var unitsBySpelling = func() map[string]*spelt {
	found := map[string]*spelt{}
	for i := range units {
		u := &units[i]
		found[strings.ToLower(u.unit)] = u
		for _, s := range u.also {
			found[s] = u
		}
	}
	return found
}()

// unitNamed finds a unit as somebody has written it; nil when it is not known here. The two that
// differ by their capitals alone are mPa and MPa, of which nobody measures the first.
func unitNamed(text string) *spelt {
	return unitsBySpelling[strings.ToLower(strings.Trim(text, " .\u00a0"))]
}

// conversion is how a value in a unit becomes one in a signal's own unit. ok is false when it cannot.
func conversion(unit, own string) (s scale, ok bool) {
	if unit == "" || own == "" || strings.EqualFold(unit, own) {
		return scale{1, 0}, true
	}
	from := unitNamed(unit)
	if from == nil {
		return scale{}, false
	}
	if from.into == own {
		return from.worth, true
	}
	// A signal in a smaller or larger unit of the same kind, such as minutes or Pa.
	to := unitNamed(own)
	if to == nil || to.into != from.into || to.worth.offset != 0 || from.worth.offset != 0 {
		return scale{}, false
	}
	return scale{from.worth.factor / to.worth.factor, 0}, true
}

// unitsFor lists the units that a signal's own can be made of, for messages.
func unitsFor(own string) string {
	var list []string
	for i := range units {
		if u := &units[i]; u.unit == own || u.into == own {
			list = append(list, u.unit)
		}
	}
	if len(list) == 0 {
		return own
	}
	return strings.Join(list, ", ")
}

// unitOf gives the unit that a signal's values are in; "" when it is not known.
func unitOf(s pids.Signal) string {
	_, unit, _ := pids.About(s)
	return unit
}
