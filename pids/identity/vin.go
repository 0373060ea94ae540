package identity

import (
	"fmt"
	"strings"
)

// VINReport is the result of CheckVIN.
type VINReport struct {
	Well       bool   // 17 characters, none of I, O, Q
	CheckDigit bool   // position 9 fits (49 CFR 565)
	ModelYear  int    // 0 when unknown
	Why        string // what is wrong; "" when all fits
}

// vinValues are the letters' values, in order A to Z; 0 is a letter that does not occur
// (49 CFR 565.15, table III).
var vinValues = [26]int{1, 2, 3, 4, 5, 6, 7, 8, 0, 1, 2, 3, 4, 5, 0, 7, 0, 9, 2, 3, 4, 5, 6, 7, 8, 9}

// vinWeights are those of positions 1 to 17 (49 CFR 565.15, table IV).
var vinWeights = [vinLength]int{8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2}

// vinYears are the letters of position 10 in order from 1980, then the digits from 2001
// (49 CFR 565.15).
const vinYears = "ABCDEFGHJKLMNPRSTVWXY123456789"

// CheckVIN checks a number by the rules of North America. They are law only there, so a check
// digit that does not fit is a note, never a reason to reject the number.
func CheckVIN(vin string) VINReport {
	if len(vin) != vinLength {
		return VINReport{Why: fmt.Sprintf("%d characters instead of 17", len(vin))}
	}
	sum := 0
	for i := range vinLength {
		v, ok := vinValue(vin[i])
		if !ok {
			return VINReport{Why: fmt.Sprintf("position %d holds a character that no VIN has", i+1)}
		}
		sum += v * vinWeights[i]
	}
	r := VINReport{Well: true, CheckDigit: vin[8] == "0123456789X"[sum%11]}
	r.ModelYear = vinYear(vin)
	switch {
	case !r.CheckDigit:
		r.Why = "the check digit does not fit; it and the year's letter are required in North America only"
	case r.ModelYear == 0:
		r.Why = fmt.Sprintf("position 10 is %c, which is no year", vin[9])
	}
	return r
}

func vinValue(c byte) (int, bool) {
	switch {
	case c >= '0' && c <= '9':
		return int(c - '0'), true
	case c >= 'A' && c <= 'Z':
		return vinValues[c-'A'], vinValues[c-'A'] != 0
	}
	return 0, false
}

// vinYear is the model year, 0 when unknown. A letter means one of two years, thirty apart;
// for cars and light trucks, position 7 decides: it is a letter from 2010 on (49 CFR 565.15(b)).
func vinYear(vin string) int {
	at := strings.IndexByte(vinYears, vin[9])
	if at < 0 {
		return 0
	}
	year := 1980 + at
	if vin[6] > '9' {
		year += 30
	}
	return year
}

// vinMasked is how many characters at the end name a single car.
const vinMasked = 6

// MaskVIN hides the characters that name a single car.
func MaskVIN(vin string) string {
	r := []rune(vin)
	keep := max(len(r)-vinMasked, 0)
	return string(r[:keep]) + strings.Repeat("*", len(r)-keep)
}
