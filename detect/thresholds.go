package detect

// thresholds is every number the detector decides by. It is one value so that a bench can
// leave a part out and measure what it was worth; New uses the standard one.
//
// The source of each number is beside it: "trade" is a published service procedure or a
// figure customary in the trade, "J1979" follows from the resolution or rate of the
// standard's data, "bench" was measured with detect/bench (tuning seeds), "real" was measured
// on public drives without known shudder, "chosen" is a choice without measurement.
type thresholds struct {
	// Engine-speed readings.
	sourceHold   float64 // s, an engine-speed source is kept until silent this long (chosen)
	impossible   float64 // rpm, at and above: a sleeping ECU's FFFF (J1979: 16383.75)
	coarseStep   float64 // rpm, smallest change of an ECU whose steps are coarse: equal values are then readings (chosen)
	coarseAfter  int     // changes seen before a step is called coarse (chosen)
	faultZero    float64 // s, zeros no longer than this between two running readings are link faults: run-down and restart take longer (trade: 0.3–0.9 s and 0.35–0.7 s)
	gap          float64 // s, longer between readings is a gap of the link (bench)
	evalEvery    float64 // s, at most five evaluations a second (bench)
	window       float64 // s of engine speed judged at once (bench)
	minReadings  int     // readings in the window; fewer are too few (bench)
	quietPerWin  int     // readings in the window before the absence of swings means anything (bench: 10 readings a second)
	swingRank    float64 // the k of the k-th largest swing (bench)
	swingRankFew float64 // the same in the short window (bench)

	// Masks.
	runs                   float64 // rpm, above this the engine runs (trade: misfire monitors begin at 400)
	settle                 float64 // s after start, stop or gap (trade: converter tests wait 5–8 s)
	warm                   float64 // °C coolant; converters lock at 54 ± 5 (trade)
	speedLow               float64 // km/h, band of a cruise (trade)
	speedHigh              float64 // km/h (trade)
	restSpeed, restFall    float64 // km/h: below it, or falling by so much over speedOver, driver demand was at rest once, so that its lowest reading means something (common practice, no source)
	closed                 float64 // % above the lowest throttle seen: at or below is closed (bench)
	throttleMove           float64 // %, range allowed (bench)
	throttleOver           float64 // s, over which (bench)
	speedMove              float64 // km/h, range allowed: J1979 gives whole km/h (bench)
	speedOver              float64 // s, over which (bench)
	speedMoveNo            float64 // km/h, range allowed with no throttle reading (chosen)
	cruiseMove, cruiseOver float64 // km/h and s: a pedal at rest that long while road speed holds so well means cruise control (chosen: coasting in gear loses 1–2 km/h a second)
	cruiseLoad             float64 // % load below which the engine does not pull (chosen)
	ratioMove              float64 // change of ln(rpm/speed) that is a gear or lock-up step (bench)
	ratioOver              float64 // s, over which (bench)
	stepCut                float64 // s before the last second in which the ratio stepped: no window begins earlier (bench)
	moveCut                float64 // s before the throttle was last seen moving: no window begins earlier; with throttleOver this leaves 1.0 s for the drive line to ring out (trade: 0.5–1.5)
	stale                  float64 // s, a slow signal older than this is not known (chosen)

	// Floors and limit.
	scatterSide  float64 // s, neighbours at least this far away (bench: direct neighbours fail at 20/s)
	floorSpan    float64 // s of any driving (bench)
	floorCrawl   float64 // s below crawlSpeed (bench)
	crawlSpeed   float64 // km/h (bench)
	coolantStale float64 // s, coolant older than this is not known (chosen)
	learnAfter   float64 // s after an alarm in which nothing is learnt: what follows may be the rest of it (bench)
	learnMove    float64 // km/h over speedOver: moving more, a car shows its driver and not its scatter (real)
	floorLag     float64 // s left out before now (bench)
	floorMin     int     // values before a floor is a floor (chosen)
	usualSpan    float64 // s of judged cruise (bench)
	usualMin     int     // evaluations before "usual" is known (chosen)
	limitLeast   float64 // rpm (bench)
	limitScatter float64 // times the scatter (bench)
	limitUsual   float64 // times the usual swing (bench)

	// Regularity.
	fitLow, fitHigh                 float64 // Hz searched (bench)
	fitCycles                       float64 // cycles a window must hold (bench)
	slowLow, slowHigh               float64 // Hz of slow swings (trade: surge 0.1–2, slip control 0.3–0.8)
	briefSpan, briefLeast           float64 // s and readings of the briefest window, for bursts of a second (bench)
	shortSpan                       float64 // s of the short window (bench)
	shortLeast                      float64 // readings the short window holds at least (bench)
	longLeast                       float64 // readings the long window holds at least (bench)
	longMost                        float64 // s of the longest window (bench)
	carry                           float64 // share of the evidence of the short window before that is added (bench)
	independent                     float64 // s, readings nearer than this are not independent: the ECU averages over a firing segment to a revolution, up to 0.1 s (trade)
	redPrice, redBelow, redBelowFew float64 // natural units that each e-fold below redBelow Hz costs, redBelowFew at low rates (bench)
	driftPrice                      float64 // natural units that a drifting wave must earn over a plain one (two parameters, about ln n)
	harmonicPrice                   float64 // natural units that a second harmonic must earn (two parameters)
	harmonicHigh, harmonicRead      float64 // Hz searched with a second harmonic, and readings a period at least
	swingMost                       float64 // rpm: a larger swing is a change of gear (trade: grab and release 100–190)
	stepPrice                       float64 // natural units a second and a third step must earn (two parameters, about ln n)
	priorCount                      float64 // readings that the floor counts for in the evidence (bench)
	priorFloor                      float64 // scatter about a wave, in floors of quick scatter (real: 10 rpm about a line for 5 quick)
	evidence                        float64 // natural units wanted (bench)
	fitFrom                         float64 // share of the limit from which the fits are worth their time (bench)
	sizeWorth, sizeMost             float64 // natural units that each e-fold of the wave over the limit is worth, and e-folds that count at most (bench)
	sizeFrom                        float64 // Hz from which a wave over the limit is worth more for its size (bench)
	swingsLast                      float64 // s that the swings last at least: the ring after a tip-in or a change of lock-up is shorter (trade: 0.5–1.5 s with its decay; bench)
	leftPrice, leftUsual, leftShape float64 // natural units that each e-fold of what the wave leaves costs, above so many floors and, for the corners of a saw, that share of the wave: a rough patch or a misfire brings scatter of its own (bench)
	averaging                       float64 // s over which the ECU is taken to average (trade: firing segment to a revolution, up to 0.1)
	atOnce                          float64 // natural units at which one evaluation is enough (bench)
	atOnceLimit                     float64 // limits that the swing must then pass (bench)
	lowRateBelow                    float64 // readings a second below which large swings count without regularity (bench)
	lowRateRest                     float64 // share of the limit that must be left beside steps and slow swings (bench)
	lowRatePart                     float64 // part of the window's r.m.s. that they must leave (bench)
	lowRateLimit                    float64 // limits that the swing must pass (bench)
	lowRateConfirm                  float64 // evaluations running (bench)
	ladenOver                       float64 // % load above the usual of quiet cruise that counts as under load (chosen)
	scatterConfirm                  int     // evaluations running before scatter is noted (bench)
	scatterPart                     float64 // part of the window's r.m.s. that steps and slow swings must leave (bench)
	slowEvery, slowWindow           float64 // s, how often and over how long slow swings are looked for (chosen)
	slowLeast, slowFloors           float64 // rpm, and floors, that a slow swing must pass (trade: surge from 25 rpm)
	slowSeenLow, slowSeenHigh       float64 // Hz that count as slow swing (trade: 0.3–0.8)
	slowConfirm                     int     // looks running (bench)
	slowShare                       float64 // share of the window that the slow wave must explain (bench)
	stepSpeed, stepSize             float64 // km/h at least, and ln of the ratio, of a step (J1979: whole km/h are 0.03 at 35)
	stepTurns, stepLeast, stepGap   float64 // changes in a row, and s between them at least and at most (trade: hunting 5–20 s a period)
	gearSize                        float64 // ln of the ratio: from here it is a gear, not the clutch (trade: lock-up 80–250 rpm, gears 15–35 %)
	evidenceLaden                   float64 // natural units wanted while a misfire that comes only under load cannot be ruled out (bench)
	ladenThrottle                   float64 // % throttle or pedal above the usual of quiet cruise that counts as under load when load is not read (chosen)
	evidenceHold, limitHold         float64 // evidence and share of the limit that the evaluations beside the one that passed must have (bench)
	smallestMore                    float64 // times limit ÷ shown share that a swing must be to be found half of the time, since it must be regular as well (real: 80 rpm where that quotient is 59)
	demandShare, demandSwing        float64 // share of the demand's movement that a wave of the same frequency must explain, and its % peak to peak, to be in step (chosen: J1979 gives 0.4 % steps)
	confirm                         float64 // evaluations over the limit before an alarm (bench)
	join                            float64 // s, events closer than this are one (bench)
	noThrottleMore                  float64 // times the limit with no throttle reading (chosen)
	stretchesForNone                int     // steady stretches before "no shudder" may be said (bench)
	smallestForNone                 float64 // rpm; above it shudder that is felt may hide (trade: grab and release 100–190)
	judgedForNone                   float64 // s judged before "no shudder" may be said (chosen)
	untiedShare                     float64 // share of steady time with a moving ratio that says "not tied" (real)
	untiedMin                       float64 // s of steady time before that is said (chosen)
	sleptLeast                      float64 // s of a sleeping ECU before the first reading: the engine was off (chosen)
	crankInterval                   float64 // s between readings from which they cannot time a starter (bench)
	restartKey                      float64 // s of cranking above which a driver turned the key (trade: a restart by itself cranks 0.2–0.5; bench)
	rollingSpeed                    float64 // km/h at engine stop: above is rolling (J1979 resolution)
	keyGap                          float64 // s of a sleeping ECU within a stop: the key was off (chosen)
	unseen                          float64 // s of silence within a stop after which its end is not known: time for a hand at the key (chosen)
}

// gapOf returns how long, s, may lie between readings that usually come at an interval; longer
// is a gap of the link.
func (th *thresholds) gapOf(interval float64) float64 { return max(th.gap, 2.2*interval) }

// EnoughForNone and EnoughAtAll are the readings of engine speed a second from which "no shudder"
// may be said, and below which nothing is judged: quietPerWin and minReadings in a window.
const (
	EnoughForNone = 9
	EnoughAtAll   = 8. / 3
)

// WarmFromC is the coolant temperature, °C, from which a converter may be locked.
const WarmFromC = 49

// CruiseFromKMH and CruiseToKMH are the band of road speed that is judged: speedLow and speedHigh.
const (
	CruiseFromKMH = 30
	CruiseToKMH   = 115
)

// standard is the table New uses.
var standard = thresholds{
	sourceHold: 5, impossible: 16000, coarseStep: 4, coarseAfter: 40, faultZero: 0.7,
	gap: 1, evalEvery: 0.2, window: 3, minReadings: 8, quietPerWin: 27,
	swingRank: 4, swingRankFew: 3,

	runs: 400, settle: 5, warm: WarmFromC, speedLow: CruiseFromKMH, speedHigh: CruiseToKMH,
	restSpeed: 5, restFall: 3, closed: 2.3, throttleMove: 5, throttleOver: 1.5, speedMove: 3, speedOver: 2, speedMoveNo: 2,
	cruiseMove: 1.5, cruiseOver: 4, cruiseLoad: 12,
	ratioMove: 0.10, ratioOver: 1, stepCut: 0.5, moveCut: 0.5, stale: 5,

	scatterSide: 0.17, floorSpan: 75, floorCrawl: 600, crawlSpeed: 30, floorLag: 3, learnMove: 5, coolantStale: 120, learnAfter: 15, floorMin: 30,
	usualSpan: 600, usualMin: 25, limitLeast: 50, limitScatter: 6, limitUsual: 2.5,

	fitLow: 0.9, fitHigh: 6.5, fitCycles: 1.8, slowLow: 0.2, slowHigh: 0.7,
	briefSpan: 1.2, briefLeast: 10, shortSpan: 1.8, shortLeast: 12, longLeast: 20, longMost: 4.5, carry: 0.8, independent: 0.1, stepPrice: 2, redPrice: 15, driftPrice: 1.5, harmonicPrice: 1.5, harmonicHigh: 5, harmonicRead: 4, swingMost: 250, redBelow: 2, redBelowFew: 1.5, priorCount: 6, priorFloor: 3.5, scatterConfirm: 10, scatterPart: 0.46, slowEvery: 1, slowWindow: 7, slowLeast: 40, slowFloors: 5, slowConfirm: 3,
	slowSeenLow: 0.28, slowSeenHigh: 0.8, slowShare: 0.87,
	stepSpeed: 35, stepSize: 0.055, stepTurns: 5, stepLeast: 1.8, stepGap: 20, gearSize: 0.13,
	smallestMore: 1.3, evidence: 4, fitFrom: 0.8, sizeWorth: 8, sizeMost: 0.7, leftPrice: 5, leftUsual: 1.5, leftShape: 0.12, swingsLast: 0.35, sizeFrom: 2.7, evidenceLaden: 7, ladenThrottle: 3, evidenceHold: 1.5, limitHold: 0.9, averaging: 0.06, atOnce: 6, atOnceLimit: 1,
	lowRateBelow: 7, lowRateRest: 0.56, lowRatePart: 0.42, lowRateLimit: 1.3, lowRateConfirm: 4, ladenOver: 8,
	demandShare: 0.6, demandSwing: 1.5, confirm: 2, join: 2.5, noThrottleMore: 1.5,
	stretchesForNone: 3, judgedForNone: 30, smallestForNone: 100, untiedShare: 0.25, untiedMin: 60,
	sleptLeast: 1, crankInterval: 0.27, restartKey: 0.55, rollingSpeed: 3, keyGap: 20, unseen: 5,
}
