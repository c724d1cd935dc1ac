# SPDX-License-Identifier: GPL-3.0-or-later
# The reference data and random series through R's segmented (Muggeo 2003) and strucchange (Zeileis
# et al. 2003), and through the driver.
suppressMessages({library(segmented); library(strucchange)})
arguments <- commandArgs(trailingOnly = TRUE)
driver <- arguments[1]
reference <- function(name) read.csv(file.path(arguments[2], name))
failures <- 0

ask <- function(words, lines) {
  answer <- system2(driver, words, stdout = TRUE, input = lines)
  as.numeric(strsplit(trimws(answer), " +")[[1]])
}
text <- function(x) sprintf("%.17g", x)
check <- function(what, got, expected, tolerance) {
  if (length(got) == length(expected) && all(abs(got - expected) <= tolerance)) return(invisible())
  failures <<- failures + 1
  cat("FAILED ", what, "\n  got      ", got, "\n  expected ", expected, "\n")
}

# One break.  Places and standard errors: 1e-2 of the standard error, within which the objective is
# flat and segmented stops; slopes follow the place.  On a sample (RWC and some random series) the
# standard error is only nominal: it depends on which side the sample is counted.
one_break <- function(what, x, y, start) {
  y <- y[order(x)]; x <- sort(x)
  fit <- segmented(lm(y ~ x), seg.Z = ~x, psi = start,
                   control = seg.control(tol = 1e-12, it.max = 200, n.boot = 50, seed = 1))
  se <- fit$psi[1, 3]
  got <- ask(c("segmented", 1), paste(text(x), text(y)))
  slopes <- slope(fit)$x[, 1]
  check(what, got, c(fit$psi[1, 2], se, slopes, deviance(fit)),
        c(1e-2 * se, if (min(abs(x - got[1])) < 1e-3 * se) Inf else 1e-2 * se, 1e-3 * abs(slopes), 1e-6 * deviance(fit)))
}
stagnant <- reference("stagnant.csv")
one_break("stagnant", stagnant$x, stagnant$y, 0)
plant <- reference("plant.csv")
for (g in c("RKV", "RKW")) with(plant[plant$group == g, ], one_break(g, time, y, 400))
for (k in 1:20) {
  set.seed(k) # segmented's restarts draw numbers of their own
  x <- sort(runif(60, 0, 20)); at <- runif(1, 6, 14)
  one_break(paste("random", k), x, 1 + 0.3 * x + 2 * pmax(x - at, 0) + rnorm(60, sd = 0.3), at)
}

# Levels: positions exact, sums and BIC to what doubles keep, intervals exact (whole observations).
several_levels <- function(what, y, most, least) {
  fit <- breakpoints(y ~ 1, h = least, breaks = most)
  for (m in 1:most) {
    bp <- breakpoints(fit, breaks = m)
    ci <- suppressWarnings(confint(fit, breaks = m)$confint)
    got <- ask(c("levels", m, least), text(y))
    expected <- c(bp$breakpoints, bp$RSS, AIC(fit, k = log(length(y)))[m + 1], t(ci[, c(1, 3)]))
    check(paste(what, m), got, expected, c(rep(0, m), 1e-9 * bp$RSS, 1e-8, rep(0, 2 * m)))
  }
}
several_levels("nile", reference("nile.csv")$flow_1e8_m3, 3, 15)
set.seed(11)
for (k in 1:10)
  several_levels(paste("random levels", k), c(rnorm(40), rnorm(40, 1.5), rnorm(40, 0)), 2, 15)

if (failures > 0) quit(status = 1)
