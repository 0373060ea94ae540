package complaint

import (
	"errors"
	"math"
	"testing"

	"github.com/judder-obd/judder/detect"
)

func TestParse(t *testing.T) {
	for _, c := range []struct {
		text  string
		want  Box
		words string // as it is written back
	}{
		{"60-70 km/h light warm", Box{60, 70, Light, Warm, 0}, "60-70 km/h light warm"},
		{"warm, light load, 60 to 70 km/h, 4th gear", Box{60, 70, Light, Warm, 4}, "60-70 km/h light warm gear 4"},
		{"60–70kmh", Box{60, 70, "", "", 0}, "60-70 km/h"},
		{"60 - 70", Box{60, 70, "", "", 0}, "60-70 km/h"},
		{"HEAVY Cold", Box{0, 0, Heavy, Cold, 0}, "heavy cold"},
		{"medium throttle hot engine", Box{0, 0, Medium, Warm, 0}, "medium warm"},
		{"gear 3", Box{Gear: 3}, "gear 3"},
		// 35 mph is 56 km/h and 50 mph 80 km/h in published service procedures.
		{"35-50 mph", Box{56.3, 80.5, "", "", 0}, "56.3-80.5 km/h"},
		{"around 65", Box{60, 70, "", "", 0}, "60-70 km/h"},
		{"about 110 km/h heavy", Box{105, 115, Heavy, "", 0}, "105-115 km/h heavy"},
		{"~65mph", Box{99.6, 109.6, "", "", 0}, "99.6-109.6 km/h"},
		{"ca. 3 km/h", Box{0, 8, "", "", 0}, "0-8 km/h"},
		{"around 60-70 warm", Box{60, 70, "", Warm, 0}, "60-70 km/h warm"},
		{"around 60 to 70", Box{60, 70, "", "", 0}, "60-70 km/h"},
		{"about 4th gear", Box{Gear: 4}, "gear 4"},
		{"35-50mph light", Box{56.3, 80.5, Light, "", 0}, "56.3-80.5 km/h light"},
	} {
		got, err := Parse(c.text)
		if err != nil || got != c.want || got.String() != c.words {
			t.Errorf("%q: %+v %q, %v; want %+v %q", c.text, got, got, err, c.want, c.words)
		}
		if again, err := Parse(got.String()); err != nil || again != got {
			t.Errorf("%q: written as %q and read as %+v, %v", c.text, got, again, err)
		}
	}
}

func TestParse_Wrong(t *testing.T) {
	for _, c := range []struct{ text, word string }{
		{"", ""},
		{" , ", ""},
		{"load", ""},      // says which field, not its value
		{"fast", "fast"},  // no word of a complaint
		{"65 km/h", "65"}, // one speed is no range
		{"around", ""},
		{"~", ""},
		{"around light", "light"},
		{"about 2000 rpm", "2000"},   // no road speed
		{"around 70 rpm", "rpm"},     // nor this
		{"around -70", "-70"},        // nor this
		{"around 65 80-90", "80-90"}, // two
		{"70-60", "70-60"},           // the wrong way round
		{"60-60", "60-60"},           // empty
		{"60-700", "60-700"},         // no car reports it
		{"60-x", "60-x"},
		{"60-70 80-90", "80-90"},
		{"light heavy", "heavy"},
		{"cold warm", "warm"},
		{"gear", ""},
		{"gear x", "x"},
		{"gear 40", "40"},
		{"gear 3 gear 4", "4"},
		{"60-nan", "60-nan"},
	} {
		got, err := Parse(c.text)
		var wrong *ParseError
		if !errors.As(err, &wrong) || wrong.Word != c.word || wrong.Why == "" || !got.IsZero() {
			t.Errorf("%q: %+v, %v; want an error at %q", c.text, got, err, c.word)
		}
	}
}

func FuzzParse(f *testing.F) {
	f.Add("60-70 km/h light warm gear 4")
	f.Add("35-50mph heavy cold 3rd")
	f.Fuzz(func(t *testing.T, text string) {
		box, err := Parse(text)
		if err != nil {
			return
		}
		if again, err := Parse(box.String()); err != nil || again != box {
			t.Errorf("%q: %+v is written as %q and read as %+v, %v", text, box, box, again, err)
		}
	})
}

func TestBox_Contains(t *testing.T) {
	nan := math.NaN()
	box := Box{60, 70, Light, Warm, 4}
	at := Point{65, 40, 20, 90, 4}
	for _, c := range []struct {
		name   string
		change func(*Point)
		want   bool
	}{
		{"in it", func(*Point) {}, true},
		{"lower edge", func(p *Point) { p.SpeedKMH = 60 }, true},
		{"upper edge", func(p *Point) { p.SpeedKMH = 70 }, true},
		{"too slow", func(p *Point) { p.SpeedKMH = 59.9 }, false},
		{"too fast", func(p *Point) { p.SpeedKMH = 70.1 }, false},
		{"speed not read", func(p *Point) { p.SpeedKMH = nan }, false},
		{"medium load", func(p *Point) { p.LoadPct = 65 }, false},
		{"load not read, light throttle", func(p *Point) { p.LoadPct = nan }, true},
		{"load not read, medium throttle", func(p *Point) { p.LoadPct, p.ThrottlePct = nan, 50 }, false},
		{"neither read", func(p *Point) { p.LoadPct, p.ThrottlePct = nan, nan }, false},
		{"cold", func(p *Point) { p.CoolantC = 30 }, false},
		{"just warm", func(p *Point) { p.CoolantC = detect.WarmFromC }, true},
		{"coolant not read", func(p *Point) { p.CoolantC = nan }, true},
		{"another gear", func(p *Point) { p.Gear = 5 }, false},
		{"gear not read", func(p *Point) { p.Gear = 0 }, true},
	} {
		p := at
		c.change(&p)
		if got := box.Contains(p); got != c.want {
			t.Errorf("%s: %v, want %v", c.name, got, c.want)
		}
	}
	if (Box{}).Contains(Point{nan, nan, nan, nan, 0}) != true {
		t.Error("no complaint: everything is in it")
	}
}

// The published words for throttle: light about 25 %, medium about 50 %, heavy about 75 % (a
// maker's service information for automatic transmissions).
func TestLoadOf_PublishedThrottle(t *testing.T) {
	for throttle, want := range map[float64]Load{25: Light, 50: Medium, 75: Heavy} {
		if got := LoadOf(Point{LoadPct: math.NaN(), ThrottlePct: throttle}); got != want {
			t.Errorf("%g %%: %q, want %q", throttle, got, want)
		}
	}
}

func TestBox_Judgeable(t *testing.T) {
	for _, c := range []struct {
		text string
		want bool
	}{{"60-70", true}, {"10-20", false}, {"120-140", false}, {"20-40", true}, {"light", true}} {
		box, err := Parse(c.text)
		if err != nil || box.Judgeable() != c.want {
			t.Errorf("%s: %v, %v; want %v", c.text, box.Judgeable(), err, c.want)
		}
	}
}
