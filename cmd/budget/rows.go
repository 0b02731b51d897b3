package main

// A row is one promise. The figure is the metric 'unit' of benchmark 'bench'
// in package 'pkg'; rows without a package come from the side-by-side run. A
// negative limit means that the figure is printed for reading beside another.
type row struct {
	what    string
	promise string
	pkg     string
	bench   string
	unit    string
	limit   float64
}

// rows are the budget, in the order in which it is printed. 1 KB is 1000
// bytes and 1 MB 1,000,000; p50 and p99 are percentiles.
var rows = []row{
	{"first visit, compressed: the core", "512 KB", "./pwa", "BenchmarkBudgetFirstVisit", "core-KB", 512},
	{"first visit, compressed: everything else", "140 KB", "./pwa", "BenchmarkBudgetFirstVisit", "rest-KB", 140},
	{"reopened from cache, 4x CPU throttle, to the job on screen and tappable", "1000 ms", "./pwa", "BenchmarkBudgetReopen", "ms", 1000},
	{"the same at a quarter of the whole browser's time, worker and store as slow as the page", "for reading", "./pwa", "BenchmarkBudgetReopen", "quarter-ms", -1},
	{"tap to painted tick, strict, 50 jobs, 20,000 entries, 20,000 climate blocks, 4x throttle", "100 ms", "./pwa", "BenchmarkBudgetTap", "ms", 100},
	{"four times what the same takes unthrottled, disk and all, until it is drawn", "for reading", "./pwa", "BenchmarkBudgetTap", "times4-ms", -1},
	{"longest task of the page's thread while a full phone is opened and worked on, 4x throttle, median of five walks", "100 ms", "./pwa", "BenchmarkBudgetLongTask", "ms", 100},
	{"the same, longest of all five", "for reading", "./pwa", "BenchmarkBudgetLongTask", "worst-ms", -1},
	{"the same on a phone that was just switched on, its browser with it, median of three", "for reading", "./pwa", "BenchmarkBudgetLongTask", "cold-ms", -1},
	{"longest task of all eight walks by the thread's own time, what waits for one of this machine's cores left out", "100 ms", "./pwa", "BenchmarkBudgetLongTask", "own-ms", 100},
	{"longest task of the page's thread while a phone that was away takes in 40,000 lines, 4x throttle", "50 ms", "./pwa", "BenchmarkBudgetCatchUp", "ms", 50},
	{"longest that the phone's worker lets a question wait meanwhile, as this machine is", "for reading", "./pwa", "BenchmarkBudgetCatchUp", "plain-asked-ms", -1},
	{"the same at a quarter of the whole browser's time, halts of 75 ms included", "for reading", "./pwa", "BenchmarkBudgetCatchUp", "quarter-asked-ms", -1},
	{"backlog of 10,000 entries to a second phone, against the fastest peer", "0.8 x", "", "peers", "backlog-ratio", 0.8},
	{"the same, up", "0.85 MB", "", "peers", "up-MB", 0.85},
	{"the same, down", "0.85 MB", "", "peers", "down-MB", 0.85},
	{"one tick to 20 phones, p50 against the fastest peer", "1.0 x", "", "peers", "p50-ratio", 1},
	{"one tick to 20 phones, p99 against the fastest peer", "1.0 x", "", "peers", "p99-ratio", 1},
	{"acknowledged entries lost by SIGKILL", "0", "", "peers", "lost", 0},
	{"every gate of a job with 2,000 entries after a new tick", "200 us", "./checklist", "BenchmarkBudgetGates/older=0/tick", "ns/op", 200e3},
	{"the same after a new reading", "200 us", "./checklist", "BenchmarkBudgetGates/older=0/reading", "ns/op", 200e3},
	{"the same after a new climate block", "200 us", "./checklist", "BenchmarkBudgetGates/older=0/climate.block", "ns/op", 200e3},
	{"after a new tick, 49 older jobs beside it", "200 us", "./checklist", "BenchmarkBudgetGates/older=49/tick", "ns/op", 200e3},
	{"a question to 100,000 jobs, p50", "50 ms", "./server", "BenchmarkBudgetFind", "p50-ms", 50},
	{"a cold fold of that job, decoding included", "for reading", "./checklist", "BenchmarkBudgetColdFold", "ns/op", -1},
	{"server memory with 1,000 idle phones over TLS", "64 MB", "./server", "BenchmarkBudgetIdlePhones", "MB", 64},
	{"a store of 1,000,000 entries: start to serving", "2 s", "./server", "BenchmarkBudgetStart", "s", 2},
}
