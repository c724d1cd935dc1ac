# SPDX-License-Identifier: GPL-3.0-or-later
# Asks the driver what R answers too, and compares.  Each case: words for the driver, R's numbers, a
# relative tolerance (absolute where R says 0).
driver <- commandArgs(trailingOnly = TRUE)[1]
set.seed(20240229)
cases <- list()
ask <- function(words, expected, tolerance)
  cases[[length(cases) + 1]] <<- list(words = paste(words, collapse = " "),
                                      expected = as.numeric(expected), tolerance = tolerance)
text <- function(x) sprintf("%.17g", x)
vector_words <- function(x) c(length(x), text(x))

# Distributions.  1e-11: R's own algorithms promise about 1e-12 in the tails; noncentral t 1e-9
# absolute in R (its documentation: 'accuracy about 1e-12', by a series cut at that).
for (df in c(0.6, 1, 2.7, 5, 17.776, 60, 1234))
  for (x in c(-30, -4, -1.3, -0.01, 0.2, 2, 7, 100))
    ask(c("student", text(x), df), c(pt(x, df), pt(x, df, lower.tail = FALSE)), 1e-11)
for (p in c(1e-10, 1e-3, 0.05, 0.31, 0.5, 0.77, 0.975, 0.9995)) {
  for (df in c(0.6, 1, 2.7, 17.776, 1234)) {
    if (p != 0.5) # R answers 2e-16, which is 0
      ask(c("student_quantile", text(p), df), qt(p, df), 1e-11)
    ask(c("chi_square_quantile", text(p), df), qchisq(p, df), 1e-11)
    if (p > 0.01) # below, R's own qf loses digits: qf(0.001, 1, 4.5) is not qt(0.5005, 4.5)^2
      ask(c("f_quantile", text(p), df, 4.5), qf(p, df, 4.5), 1e-10)
    ask(c("beta_quantile", text(p), df, 2), qbeta(p, df, 2), 1e-10)
  }
  ask(c("normal_quantile", text(p)), qnorm(p), 1e-12)
  ask(c("binomial_quantile", text(p), 37, 0.21), qbinom(p, 37, 0.21), 0)
}
for (x in c(0.001, 0.3, 1, 4, 30)) for (df in c(1, 3.3, 40)) {
  ask(c("f", text(x), df, 7), c(pf(x, df, 7), pf(x, df, 7, lower.tail = FALSE)), 1e-11)
  ask(c("chi_square", text(x), df), c(pchisq(x, df), pchisq(x, df, lower.tail = FALSE)), 1e-11)
}
for (k in 0:12)
  ask(c("binomial", k, 12, 0.37),
      c(pbinom(k, 12, 0.37), pbinom(k, 12, 0.37, lower.tail = FALSE)), 1e-11)
for (df in c(1, 3, 10, 200)) for (delta in c(-3, 0.4, 2, 9)) for (x in c(-2, 0.5, 3, 12)) {
  p <- pt(x, df, delta)
  ask(c("noncentral", text(x), df, delta), p, 1e-9 / max(p, 1e-300))
}

# Tests of groups: random groups of all small sizes, some with ties.  1e-9: intervals cancel.
for (n in c(2, 3, 5, 9)) for (m in c(2, 4, 12)) for (ties in c(FALSE, TRUE)) {
  a <- round(rnorm(n, 20, 1), if (ties) 0 else 6)
  b <- round(rnorm(m, 21, 3), if (ties) 0 else 6)
  both <- c(vector_words(a), vector_words(b))
  if (sd(a) > 0 && sd(b) > 0) {
    w <- t.test(a, b)
    ask(c("welch", 0.95, both), c(w$statistic, w$parameter, w$p.value, w$conf.int), 1e-9)
    s <- t.test(a, b, var.equal = TRUE, conf.level = 0.9)
    ask(c("pooled", 0.9, both), c(s$statistic, s$parameter, s$p.value, s$conf.int), 1e-9)
    lower <- t.test(a, b, mu = -1.5, alternative = "greater")$p.value
    upper <- t.test(a, b, mu = 1.5, alternative = "less")$p.value
    ask(c("equivalence", 1.5, both), max(lower, upper), 1e-9)
  }
  # Exact permutation by R's own enumeration, ties to 1e-9.
  if (choose(n + m, n) < 20000) {
    x <- c(a, b)
    stat <- combn(n + m, n, function(i) mean(x[i]) - mean(x[-i]))
    seen <- mean(a) - mean(b)
    ask(c("permutation", both),
        c(sum(abs(stat) >= abs(seen) - 1e-9), sum(stat >= seen - 1e-9), length(stat)), 0)
    # The same of Welch's t (Janssen 1997), where no arrangement is without scatter.
    welch <- function(u, v) (mean(u) - mean(v)) / sqrt(var(u) / length(u) + var(v) / length(v))
    t <- combn(n + m, n, function(i) welch(x[i], x[-i]))
    if (all(is.finite(t))) {
      seen <- welch(a, b)
      near <- 1e-9 * max(1, abs(seen))
      ask(c("studentized", both),
          c(sum(abs(t) >= abs(seen) - near), sum(t >= seen - near), length(t)), 0)
    }
  }
  if (!ties && !anyDuplicated(c(a, b))) {
    r <- wilcox.test(a, b, exact = TRUE, conf.int = TRUE)
    ask(c("rank", 0.95, both), c(r$statistic, r$p.value, r$estimate, r$conf.int), 1e-9)
  }
}
# Fisher's exact test, all tables of some sizes.
for (n in c(1, 5, 8)) for (m in c(5, 30)) for (a in 0:n) for (b in seq(0, m, by = if (m > 9) 6 else 1))
  ask(c("fisher", a, n, b, m), fisher.test(matrix(c(a, n - a, b, m - b), 2))$p.value, 1e-9)

a <- round(rnorm(7, 5), 3); b <- a + round(rnorm(7, 0.4, 0.5), 3)
pair <- t.test(a, b, paired = TRUE)
ask(c("paired", 0.95, vector_words(a), vector_words(b)),
    c(pair$statistic, pair$parameter, pair$p.value, pair$conf.int), 1e-9)
# Large groups: R's normal form with correction for ties and continuity.
a <- round(rnorm(60), 1); b <- round(rnorm(55, 0.3), 1)
ask(c("rank_p", 0.95, vector_words(a), vector_words(b)),
    suppressWarnings(wilcox.test(a, b, exact = FALSE))$p.value, 1e-9)

p <- c(0.001, 0.2, 0.03, 0.03, 0.7, 0.0004)
ask(c("holm", vector_words(p)), p.adjust(p, "holm"), 1e-12)
for (n in c(2, 5, 30)) for (d in c(0.3, 1, 2.5))
  ask(c("detect_power", d, 1, n, 0.05), power.t.test(n, d, strict = TRUE)$power, 1e-8)

# Drift.
y <- c(3.1, 2.9, 3.4, 3.3, 3.9, 3.6, 3.8, 4.4, 4.1, 4.0)
k <- cor.test(seq_along(y), y, method = "kendall", exact = TRUE)
ask(c("kendall", vector_words(y)), c(k$estimate, k$p.value), 1e-10)
g <- rep(1:2, each = 5)
fit <- lm(y ~ factor(g) + seq_along(y))
ask(c("slope", vector_words(seq_along(y)), vector_words(y), vector_words(g)),
    c(coef(summary(fit))[3, ], confint(fit)[3, ]), 1e-9)

# Proportions and sample quantiles.
for (k in c(0, 1, 7, 20)) {
  ask(c("wilson", k, 20), suppressWarnings(prop.test(k, 20, correct = FALSE))$conf.int, 1e-10)
  ask(c("exact", k, 20), binom.test(k, 20)$conf.int, 1e-10)
}
x <- rnorm(23)
for (q in c(0, 0.1, 0.25, 0.5, 0.9, 1))
  ask(c("sample_quantile", q, vector_words(x)), quantile(x, q, type = 7), 1e-12)

# Fieller on random sweeps: roots of the quadratic inequality from lm's covariance.
for (i in 1:10) {
  x <- rep(7:11, each = 2); y <- -0.06 * (x - runif(1, 8, 10))^2 + rnorm(10, 0, 0.03)
  f <- lm(y ~ x + I(x^2)); b <- coef(f); v <- vcov(f); t2 <- qt(0.975, 7)^2
  quad <- c(b[2]^2 - t2 * v[2, 2], 4 * (b[2] * b[3] - t2 * v[2, 3]), 4 * (b[3]^2 - t2 * v[3, 3]))
  roots <- sort(Re(polyroot(quad)))
  lack <- anova(f, lm(y ~ factor(x)))
  if (b[3] < 0 && quad[3] > 0)
    ask(c("vertex", vector_words(x), vector_words(y)),
        c(-b[2] / (2 * b[3]), roots, lack$F[2], lack$`Pr(>F)`[2]), 1e-7)
}

answers <- system2(driver, input = vapply(cases, `[[`, "", "words"), stdout = TRUE)
stopifnot(length(answers) == length(cases))
bad <- 0
for (i in seq_along(cases)) {
  got <- as.numeric(strsplit(answers[i], " ")[[1]])
  want <- cases[[i]]$expected
  scale <- ifelse(want == 0, 1, abs(want))
  if (length(got) != length(want) || any(is.na(got)) ||
      any(abs(got - want) > cases[[i]]$tolerance * scale + 1e-300)) {
    bad <- bad + 1
    cat(cases[[i]]$words, "\n  R   ", text(want), "\n  here", answers[i], "\n")
  }
}
cat(length(cases), "cases,", bad, "differ\n")
quit(status = if (bad > 0 || length(cases) < 300) 1 else 0)
