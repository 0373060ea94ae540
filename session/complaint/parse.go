package complaint

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
)

// ParseError is a complaint that cannot be read.
type ParseError struct {
	Word string // the word that is wrong; "" where something is missing
	Why  string // what is wrong, and how to write it
}

func (e *ParseError) Error() string {
	if e.Word == "" {
		return e.Why
	}
	return fmt.Sprintf("%q: %s", e.Word, e.Why)
}

// example is how a complaint is written.
const example = `write it like "60-70 km/h light warm gear 4"; each part may be missing`

// kmhPerMPH is exact: the international mile is 1609.344 m.
const kmhPerMPH = 1.609344

// fastest is the highest road speed that a car can report, km/h (SAE J1979, one byte).
const fastest = 255

// highestGear is the highest gear that makes sense.
const highestGear = 12

// fillers are words that people write beside the words that count.
var fillers = []string{"load", "throttle", "engine", "at", "and"}

// abouts are words before a single speed that is meant roughly. It is read as aboutKMH to either side of it:
// our own choice, half of one of the bands of road speed in which passes are counted.
var abouts = []string{"around", "about", "roughly", "approximately", "approx", "approx.", "circa", "ca", "ca."}

const aboutKMH = 5

// Parse reads a complaint: in any order a speed from-to in km/h or mph, or "around" one, a load (light, medium,
// heavy), an engine temperature (cold, warm) and a gear. The error is a [*ParseError]; the box is
// then zero.
func Parse(text string) (Box, error) {
	p := parser{words: strings.Fields(strings.ToLower(strings.ReplaceAll(text, ",", " ")))}
	if len(p.words) == 0 {
		return Box{}, &ParseError{Why: "the complaint is empty: " + example}
	}
	for len(p.words) > 0 {
		if err := p.step(); err != nil {
			return Box{}, err
		}
	}
	if p.box.IsZero() {
		return Box{}, &ParseError{Why: "the complaint names no speed, load, temperature or gear: " + example}
	}
	return p.box, nil
}

// parser takes one word, or a few that belong together, at a time.
type parser struct {
	words []string
	box   Box
}

func (p *parser) next() string {
	if len(p.words) == 0 {
		return ""
	}
	word := p.words[0]
	p.words = p.words[1:]
	return word
}

func (p *parser) step() error {
	word := p.next()
	switch {
	case slices.Contains(fillers, word):
		return nil
	case slices.Contains(abouts, word):
		return p.around(p.next())
	case word[0] == '~':
		return p.around(word[1:])
	case slices.Contains(Loads, Load(word)):
		return once(&p.box.Load, Load(word))
	case word == string(Cold), word == string(Warm):
		return once(&p.box.Engine, Engine(word))
	case word == "hot":
		return once(&p.box.Engine, Warm)
	case word == "gear":
		return p.gear(p.next())
	case strings.ContainsAny(word[:1], "0123456789"):
		return p.number(word)
	}
	return &ParseError{word, "not understood: " + example}
}

// once sets what may be given once.
func once[T ~string](field *T, value T) error {
	if *field != "" {
		return &ParseError{string(value), fmt.Sprintf("%q was given before: give one of the two", string(*field))}
	}
	*field = value
	return nil
}

// number reads "60-70", "60 - 70", "60 to 70", each with a unit or none, and "4th gear".
func (p *parser) number(word string) error {
	if n, ok := ordinal(word); ok {
		if len(p.words) > 0 && p.words[0] == "gear" {
			p.next()
		}
		return p.gear(n)
	}
	from, to, joined := strings.Cut(strings.ReplaceAll(word, "–", "-"), "-")
	if !joined {
		if !p.goesOn() {
			return &ParseError{word, "give a range of road speed, such as 60-70 km/h, or a gear, such as gear 4"}
		}
		p.next()
		to = p.next()
	}
	to, unit := p.withUnit(to)
	return p.speed(word, from, to, unit)
}

// goesOn reports whether a range goes on after its first number: "60 to 70".
func (p *parser) goesOn() bool {
	return len(p.words) > 1 && slices.Contains([]string{"to", "-", "–"}, p.words[0])
}

// around reads what follows "around": "65", with a unit or none; a range or a gear as they are.
func (p *parser) around(word string) error {
	if number, _ := unitOf(word); p.goesOn() || !plain(number) {
		return p.number(word)
	}
	number, unit := p.withUnit(word)
	middle, err := speedOf(number, unit)
	if err != nil {
		return p.number(word)
	}
	return p.band(word, max(middle-aboutKMH, 0), middle+aboutKMH)
}

// plain reports whether a text is a number without a sign.
func plain(number string) bool {
	return number != "" && strings.Trim(number, "0123456789.") == ""
}

// withUnit parts a number from its unit, which may be the next word.
func (p *parser) withUnit(text string) (number, unit string) {
	number, unit = unitOf(text)
	if unit == "" && len(p.words) > 0 && slices.Contains(units, p.words[0]) {
		unit = p.next()
	}
	return number, unit
}

var units = []string{"km/h", "kmh", "mph"}

// ordinal is the number of "4th".
func ordinal(word string) (number string, ok bool) {
	for _, end := range []string{"st", "nd", "rd", "th"} {
		if n, ok := strings.CutSuffix(word, end); ok {
			return n, !strings.Contains(n, "-")
		}
	}
	return word, false
}

// unitOf parts a number from the unit that is written to it.
func unitOf(text string) (number, unit string) {
	for _, unit := range units {
		if n, ok := strings.CutSuffix(text, unit); ok {
			return n, unit
		}
	}
	return text, ""
}

func (p *parser) speed(word, from, to, unit string) error {
	low, err1 := speedOf(from, unit)
	high, err2 := speedOf(to, unit)
	if err1 != nil || err2 != nil || math.IsNaN(low) || math.IsNaN(high) {
		return &ParseError{word, "not a range of road speed: write it like 60-70 km/h"}
	}
	return p.band(word, low, high)
}

// speedOf is a road speed in km/h.
func speedOf(number, unit string) (kmh float64, err error) {
	kmh, err = strconv.ParseFloat(number, 64)
	if unit == "mph" {
		kmh *= kmhPerMPH
	}
	return kmh, err
}

func (p *parser) band(word string, low, high float64) error {
	if p.box.HasSpeed() {
		return &ParseError{word, "a speed was given before: give one range"}
	}
	low, high = math.Round(low*10)/10, math.Round(high*10)/10
	switch {
	case low < 0 || high > fastest:
		return &ParseError{word, fmt.Sprintf("a road speed lies between 0 and %d km/h", fastest)}
	case low >= high:
		return &ParseError{word, "the lower speed comes first, such as 60-70 km/h"}
	}
	p.box.FromKMH, p.box.ToKMH = low, high
	return nil
}

func (p *parser) gear(word string) error {
	number, _ := ordinal(word)
	n, err := strconv.Atoi(number)
	switch {
	case err != nil || n < 1 || n > highestGear:
		return &ParseError{Word: word, Why: fmt.Sprintf("give a gear from 1 to %d, such as gear 4", highestGear)}
	case p.box.Gear != 0:
		return &ParseError{Word: word, Why: "a gear was given before: give one"}
	}
	p.box.Gear = n
	return nil
}
