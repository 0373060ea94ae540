package bench

import (
	"flag"
	"fmt"
	"os"
	"strconv"
	"strings"
	"testing"
	"time"

	"judder/simcar/drivetrain"
)

var (
	table  = flag.Bool("table", false, "print the table of figures")
	first  = flag.Uint64("seed", 1000, "first seed (tuning seeds below 100000, measuring seeds 500000 and up)")
	count  = flag.Int("drives", 12, "drives of each kind")
	shows  = flag.Int("show", 0, "misses and false alarms to list")
	only   = flag.Float64("rate", 0, "only this rate")
	change = flag.String("change", "", "numbers of the detector's table changed, name=value,…; several variants parted by ;")
	which  = flag.String("world", "both", "formula, physics or both")
	save   = flag.String("save", "", "folder to save the first -show drives with a miss or a false alarm in, as time_s,signal,value")
	uneven = flag.Float64("uneven", 0, "spread of the asking intervals on purpose, percent (simulated car)")
	rates  = []float64{3, 5, 10, 20}
)

func TestTable(t *testing.T) {
	if !*table {
		t.Skip("prints the table with -table")
	}
	for _, rate := range rates {
		if *only > 0 && rate != *only {
			continue
		}
		for _, v := range strings.Split(*change, ";") {
			if v != "" {
				fmt.Println("    ", v)
			}
			printRate(t, rate, parse(t, v))
		}
	}
}

func parse(t *testing.T, s string) map[string]float64 {
	m := map[string]float64{}
	for _, p := range strings.Split(s, ",") {
		if name, value, ok := strings.Cut(p, "="); ok {
			x, err := strconv.ParseFloat(value, 64)
			if err != nil {
				t.Fatal(err)
			}
			m[name] = x
		}
	}
	return m
}

func printRate(t *testing.T, rate float64, change map[string]float64) {
	if *which != "physics" {
		formulaRate(rate, change)
	}
	if *which != "formula" {
		physicsRate(rate, change)
	}
}

func physicsRate(rate float64, change map[string]float64) {
	f := Figures{Change: change}
	const length = 15 * time.Minute
	for i := range *count {
		seed := *first + uint64(i*1000)
		for k := range 6 {
			score(&f, Physics(seed+uint64(k), drivetrain.Shudders, length, rate, *uneven), seed+uint64(k), rate)
		}
		for k, s := range Innocent {
			score(&f, Physics(seed+uint64(100+k), s, length, rate, *uneven), seed+uint64(100+k), rate)
		}
	}
	if err := f.Print(os.Stdout, rate); err != nil {
		panic(err)
	}
	on := [2]Count{}
	for i := range 2 * *count {
		for k, swing := range []float64{100, 60} {
			g := Figures{Change: change}
			fault := drivetrain.Fault{Kind: drivetrain.FaultGrabRelease, SwingRPM: swing, Always: true}
			if len(g.Add(Physics(*first+uint64(i*1000+200+k), drivetrain.Country, length, rate, *uneven, fault))) > 0 {
				on[k].Hit++
			} else {
				list("always on: missed", g.Missed)
			}
			on[k].Of++
		}
	}
	fmt.Printf("        always on 100: %v 60: %v  stops %v invented %d\n", on[0], on[1], f.StopsRight, f.StopsInvented)
	list("missed", f.Missed)
	list("found", f.Found)
	list("false", f.FalseAt)
	list("stop", f.StopsWrong)
	if *shows > 0 {
		fmt.Println("        drives with observations:", f.Observed)
	}
}

// saved counts the drives saved so far.
var saved int

// score adds a drive to the figures and, with -save, keeps it when it brought an error.
func score(f *Figures, d *Drive, seed uint64, rate float64) {
	before := len(f.Missed) + f.FalseN + len(f.StopsWrong)
	f.Add(d)
	if *save == "" || saved >= *shows || len(f.Missed)+f.FalseN+len(f.StopsWrong) == before {
		return
	}
	path, err := d.Save(*save, seed, rate)
	if err != nil {
		panic(err)
	}
	saved++
	fmt.Println("        saved", path)
}

func list(what string, lines []string) {
	for i := 0; i < *shows && i < len(lines); i++ {
		fmt.Println("       ", what, lines[i])
	}
}

func formulaRate(rate float64, change map[string]float64) {
	f := Figures{Change: change}
	for i := range *count {
		for k := range 3 {
			seed := *first + uint64(i*100+k)
			score(&f, Formula(seed, Bursts, 600, 0).Read(rate), seed, rate)
		}
		for k, kind := range LookAlikes {
			seed := *first + uint64(i*100+20+k)
			score(&f, Formula(seed, kind, 600, 0).Read(rate), seed, rate)
		}
	}
	if err := f.Print(os.Stdout, rate); err != nil {
		panic(err)
	}
	on := [2]Count{}
	for i := range 2 * *count {
		for k, swing := range []float64{100, 60} {
			d := Formula(*first+uint64(i*100+50+k), AlwaysOn, 420, swing).Read(rate)
			g := Figures{Change: change}
			if len(g.Add(d)) > 0 {
				on[k].Hit++
			}
			on[k].Of++
		}
	}
	fmt.Printf("        always on 100: %v 60: %v\n", on[0], on[1])
	list("missed", f.Missed)
	list("found", f.Found)
	list("false", f.FalseAt)
}
