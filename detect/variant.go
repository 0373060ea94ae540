package detect

import "fmt"

// tunables are the numbers a bench may change, by name.
var tunables = map[string]func(*thresholds) *float64{
	"limit least":       func(th *thresholds) *float64 { return &th.limitLeast },
	"limit scatter":     func(th *thresholds) *float64 { return &th.limitScatter },
	"limit usual":       func(th *thresholds) *float64 { return &th.limitUsual },
	"evidence":          func(th *thresholds) *float64 { return &th.evidence },
	"left shape":        func(th *thresholds) *float64 { return &th.leftShape },
	"size from":         func(th *thresholds) *float64 { return &th.sizeFrom },
	"restart key":       func(th *thresholds) *float64 { return &th.restartKey },
	"crank interval":    func(th *thresholds) *float64 { return &th.crankInterval },
	"step turns":        func(th *thresholds) *float64 { return &th.stepTurns },
	"step least":        func(th *thresholds) *float64 { return &th.stepLeast },
	"step size":         func(th *thresholds) *float64 { return &th.stepSize },
	"slow share":        func(th *thresholds) *float64 { return &th.slowShare },
	"swings last":       func(th *thresholds) *float64 { return &th.swingsLast },
	"fit from":          func(th *thresholds) *float64 { return &th.fitFrom },
	"size worth":        func(th *thresholds) *float64 { return &th.sizeWorth },
	"size most":         func(th *thresholds) *float64 { return &th.sizeMost },
	"left price":        func(th *thresholds) *float64 { return &th.leftPrice },
	"left usual":        func(th *thresholds) *float64 { return &th.leftUsual },
	"carry":             func(th *thresholds) *float64 { return &th.carry },
	"brief window":      func(th *thresholds) *float64 { return &th.briefSpan },
	"brief readings":    func(th *thresholds) *float64 { return &th.briefLeast },
	"red price":         func(th *thresholds) *float64 { return &th.redPrice },
	"learn move":        func(th *thresholds) *float64 { return &th.learnMove },
	"harmonic price":    func(th *thresholds) *float64 { return &th.harmonicPrice },
	"harmonic high":     func(th *thresholds) *float64 { return &th.harmonicHigh },
	"harmonic read":     func(th *thresholds) *float64 { return &th.harmonicRead },
	"red below":         func(th *thresholds) *float64 { return &th.redBelow },
	"move cut":          func(th *thresholds) *float64 { return &th.moveCut },
	"drift price":       func(th *thresholds) *float64 { return &th.driftPrice },
	"swing most":        func(th *thresholds) *float64 { return &th.swingMost },
	"evidence hold":     func(th *thresholds) *float64 { return &th.evidenceHold },
	"limit hold":        func(th *thresholds) *float64 { return &th.limitHold },
	"evidence laden":    func(th *thresholds) *float64 { return &th.evidenceLaden },
	"short window":      func(th *thresholds) *float64 { return &th.shortSpan },
	"short readings":    func(th *thresholds) *float64 { return &th.shortLeast },
	"long readings":     func(th *thresholds) *float64 { return &th.longLeast },
	"long most":         func(th *thresholds) *float64 { return &th.longMost },
	"window":            func(th *thresholds) *float64 { return &th.window },
	"cycles":            func(th *thresholds) *float64 { return &th.fitCycles },
	"fit low":           func(th *thresholds) *float64 { return &th.fitLow },
	"fit high":          func(th *thresholds) *float64 { return &th.fitHigh },
	"slow high":         func(th *thresholds) *float64 { return &th.slowHigh },
	"independent":       func(th *thresholds) *float64 { return &th.independent },
	"step price":        func(th *thresholds) *float64 { return &th.stepPrice },
	"step cut":          func(th *thresholds) *float64 { return &th.stepCut },
	"prior count":       func(th *thresholds) *float64 { return &th.priorCount },
	"prior floor":       func(th *thresholds) *float64 { return &th.priorFloor },
	"averaging":         func(th *thresholds) *float64 { return &th.averaging },
	"at once":           func(th *thresholds) *float64 { return &th.atOnce },
	"at once limit":     func(th *thresholds) *float64 { return &th.atOnceLimit },
	"low rate below":    func(th *thresholds) *float64 { return &th.lowRateBelow },
	"low rate rest":     func(th *thresholds) *float64 { return &th.lowRateRest },
	"low rate part":     func(th *thresholds) *float64 { return &th.lowRatePart },
	"low rate limit":    func(th *thresholds) *float64 { return &th.lowRateLimit },
	"low rate confirm":  func(th *thresholds) *float64 { return &th.lowRateConfirm },
	"laden over":        func(th *thresholds) *float64 { return &th.ladenOver },
	"settle":            func(th *thresholds) *float64 { return &th.settle },
	"closed throttle":   func(th *thresholds) *float64 { return &th.closed },
	"throttle range":    func(th *thresholds) *float64 { return &th.throttleMove },
	"throttle span":     func(th *thresholds) *float64 { return &th.throttleOver },
	"speed range":       func(th *thresholds) *float64 { return &th.speedMove },
	"speed span":        func(th *thresholds) *float64 { return &th.speedOver },
	"ratio step":        func(th *thresholds) *float64 { return &th.ratioMove },
	"crawl floor speed": func(th *thresholds) *float64 { return &th.crawlSpeed },
	"confirm":           func(th *thresholds) *float64 { return &th.confirm },
	"rank":              func(th *thresholds) *float64 { return &th.swingRank },
	"rank short":        func(th *thresholds) *float64 { return &th.swingRankFew },
}

// NewVariant returns a detector with some numbers of its table changed by name, for a bench
// that measures what each part is worth. A name that is not in the table is an error.
func NewVariant(change map[string]float64) (*Detector, error) {
	th := standard
	for name, v := range change {
		f, ok := tunables[name]
		if !ok {
			return nil, fmt.Errorf("detect: no number %q in the table of thresholds", name)
		}
		*f(&th) = v
	}
	return newWith(&th), nil
}
