package bench

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"github.com/judder-obd/judder/simcar/drivetrain"
)

// Scene names one drive of one world: it lays out the same drive each time.
type Scene struct {
	World string // WorldFormula or WorldCar
	Name  string // script
	Seed  uint64
	Swing float64 // rpm, of an always-on car
	Role  Role
}

// The worlds: a car by formula, and the simulated car.
const (
	WorldFormula = "formula"
	WorldCar     = "car"
)

// Key names the scene as -replay takes it.
func (s Scene) Key() string { return fmt.Sprintf("%s/%s/%d/%.0f", s.World, s.Name, s.Seed, s.Swing) }

// reader is a drive laid out, to be read in any way.
type reader interface {
	Read(a Asking) *Drive
}

// lay lays the drive of a scene out.
func (s Scene) lay() reader {
	if s.World == WorldFormula {
		return newFormula(s)
	}
	return newCar(s)
}

// ParseScene reads the key of a scene.
func ParseScene(key string) (Scene, error) {
	p := strings.Split(key, "/")
	if len(p) != 4 {
		return Scene{}, fmt.Errorf("bench: %q is no scene: want world/script/seed/swing", key)
	}
	s := Scene{World: p[0], Name: p[1]}
	var err error
	if s.Seed, err = strconv.ParseUint(p[2], 10, 64); err != nil {
		return Scene{}, fmt.Errorf("bench: seed of %q: %w", key, err)
	}
	if s.Swing, err = strconv.ParseFloat(p[3], 64); err != nil {
		return Scene{}, fmt.Errorf("bench: swing of %q: %w", key, err)
	}
	for _, row := range casts[s.World] {
		if row.name == s.Name {
			s.Role = row.role
			return s, nil
		}
	}
	return Scene{}, fmt.Errorf("bench: no script %q in world %q", s.Name, s.World)
}

// cast is how often a script is driven in a round, and as what.
type cast struct {
	name  string
	role  Role
	times int
}

// casts are the rounds of the two worlds: about 7 h each, a drive of ten minutes each time.
var casts = map[string][]cast{
	WorldFormula: {
		{string(Bursts), Shaking, 6}, {string(SawBursts), Shaking, 1}, {string(BigBursts), Shaking, 1}, {string(DriftBursts), Shaking, 2}, {string(HillBursts), Shaking, 2}, {string(ColdBursts), Shaking, 2},
		{string(ShortBursts), Brief, 1}, {string(AlwaysOn), Always, 0},
		{string(Healthy), Fine, 2}, {string(City), Fine, 1}, {string(RoughRoad), Fine, 2}, {string(TipIn), Fine, 2}, {string(SlipControl), Fine, 1}, {string(Cold), Fine, 2}, {string(Hills), Fine, 2}, {string(Lash), Fine, 2},
		{string(Misfire), Alike, 2}, {string(LoadMisfire), Alike, 3}, {string(PartMisfire), Alike, 1}, {string(ColdMisfire), Alike, 1}, {string(HillMisfire), Alike, 1}, {string(TrainMisfire), Alike, 1},
		{string(Surge), Alike, 2}, {string(LockCycling), Alike, 2}, {string(GearHunting), Alike, 2},
		{string(BeltHolds), NotTied, 1}, {string(PowerSplit), NotTied, 1}, {string(RingMisfire), Alike, 3},
	},
	WorldCar: {
		{string(drivetrain.Shudders), Shaking, 6}, {string(drivetrain.SawShudders), Shaking, 1}, {string(drivetrain.BigShudders), Shaking, 1},
		{string(drivetrain.DriftingShudders), Shaking, 2}, {string(drivetrain.HillShudders), Shaking, 2}, {string(drivetrain.ColdShudders), Shaking, 2},
		{string(drivetrain.ShortShudders), Brief, 1}, {string(drivetrain.AlwaysShudders), Always, 0},
		{string(drivetrain.City), Fine, 1}, {string(drivetrain.Highway), Fine, 1}, {string(drivetrain.Country), Fine, 1}, {string(drivetrain.RoughRoad), Fine, 1},
		{string(drivetrain.RoughPatch), Fine, 1}, {string(drivetrain.TipIn), Fine, 1}, {string(drivetrain.SlipControl), Fine, 1}, {string(drivetrain.HillsCruise), Fine, 1},
		{string(drivetrain.ColdCruise), Fine, 1}, {string(drivetrain.Overrun), Fine, 1}, {string(drivetrain.Accessory), Fine, 1}, {string(drivetrain.ManualCar), Fine, 1},
		{string(drivetrain.FrictionOnly), Alike, 1}, {string(drivetrain.Lash), Fine, 1}, {string(drivetrain.TyreShake), Fine, 1},
		{string(drivetrain.Misfire), Alike, 1}, {string(drivetrain.LoadMisfire), Alike, 2}, {string(drivetrain.PartMisfire), Alike, 1}, {string(drivetrain.ColdMisfire), Alike, 1},
		{string(drivetrain.HillMisfire), Alike, 1}, {string(drivetrain.TrainMisfire), Alike, 1}, {string(drivetrain.Surge), Alike, 1}, {string(drivetrain.LockCycling), Alike, 1}, {string(drivetrain.GearHunting), Alike, 1},
		{string(drivetrain.PowerSplitCar), NotTied, 1}, {string(drivetrain.BeltCar), NotTied, 1}, {string(drivetrain.BeltHolds), NotTied, 1}, {string(drivetrain.SplitHolds), NotTied, 1},
		{string(drivetrain.ColdStart), Stopping, 1}, {string(drivetrain.Stalls), Stopping, 1}, {string(drivetrain.RollingStops), Stopping, 1}, {string(drivetrain.ParkRevving), Stopping, 1},
		{string(drivetrain.Stalls), Stopping, 2}, {string(drivetrain.ColdStart), Stopping, 2}, {string(drivetrain.RingMisfire), Alike, 3},
	},
}

// The seeds of a round: each drive has its own, and none belongs to two rounds.
const (
	seedsOfRound = 200
	alwaysFrom   = 100 // seeds of always-on cars begin here
	alwaysOfEach = 5   // cars of each swing in a round
)

// Scenes lists the drives of some rounds of a world, from a first seed. Of a list of names, if
// any, only those scripts are driven.
func Scenes(world string, first uint64, rounds int, only []string) []Scene {
	var list []Scene
	for round := range uint64(rounds) {
		seed := first + round*seedsOfRound
		for _, row := range casts[world] {
			for range row.times {
				list = append(list, Scene{World: world, Name: row.name, Seed: seed, Role: row.role})
				seed++
			}
			if row.role == Always {
				for k := range uint64(alwaysOfEach) {
					at := first + round*seedsOfRound + alwaysFrom + 2*k
					list = append(list, Scene{world, row.name, at, 100, Always}, Scene{world, row.name, at + 1, 60, Always})
				}
			}
		}
	}
	return slices.DeleteFunc(list, func(s Scene) bool { return len(only) > 0 && !slices.Contains(only, s.Name) })
}
