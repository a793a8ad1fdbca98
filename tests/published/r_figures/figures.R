# Figures by R, an independent road to what inventory/calc computes. Not run by the tests: they read figures.csv.
# Made by:  Rscript tests/published/r_figures/figures.R > tests/published/r_figures/figures.csv
# on Debian 12's r-base-core and r-cran-lme4; the versions stand in the first lines of the output.

say <- function(name, value) cat(sprintf("%s,%.15g\n", name, value))
cat("name,value\n")
cat(sprintf("# R %s; lme4 %s\n", as.character(getRversion()), as.character(packageVersion("lme4"))))

# --- what a sample says of a finite batch: inverted hypergeometric tails -------------------------------
least <- function(N, n, x, conf) { D <- 0:N; min(D[1 - phyper(x - 1, D, N - D, n) > 1 - conf]) }
most <- function(N, n, x, conf) { D <- 0:N; max(D[phyper(x, D, N - D, n) > 1 - conf]) }
for (s in list(c(80, 13, 3), c(500, 50, 0), c(120, 20, 1), c(32, 8, 8), c(1200, 80, 7))) {
  at <- paste(s, collapse = "_")
  say(paste0("least_bad_", at), least(s[1], s[2], s[3], 0.95))
  say(paste0("most_bad_", at), most(s[1], s[2], s[3], 0.95))
}

# --- the operating curve of a real batch ---------------------------------------------------------------
for (s in list(c(120, 20, 1, 5), c(500, 50, 2, 25), c(91, 13, 0, 3), c(2000, 125, 7, 150)))
  say(paste0("passing_", paste(s, collapse = "_")), phyper(s[3], s[4], s[1] - s[4], s[2]))

# --- a share found: exact and score intervals ----------------------------------------------------------
for (s in list(c(3, 13), c(0, 10), c(7, 80))) {
  at <- paste(s, collapse = "_")
  ci <- binom.test(s[1], s[2])$conf.int
  say(paste0("exact_share_low_", at), ci[1]); say(paste0("exact_share_high_", at), ci[2])
  ci <- prop.test(s[1], s[2], correct = FALSE)$conf.int
  say(paste0("score_share_low_", at), ci[1]); say(paste0("score_share_high_", at), ci[2])
}

# --- one-sided and two-sided tolerance factors ---------------------------------------------------------
one <- function(n, p, conf) qt(conf, n - 1, ncp = sqrt(n) * qnorm(p)) / sqrt(n)
two <- function(n, p, conf) {
  reach <- function(z) sapply(z, function(one) {
    o <- one / sqrt(n)
    uniroot(function(r) pnorm(o + r) - pnorm(o - r) - p, c(0, 60), tol = 1e-13)$root
  })
  sure <- function(k) integrate(function(z) 2 * dnorm(z) * pchisq((n - 1) * reach(z)^2 / k^2, n - 1, lower.tail = FALSE),
                                0, 9, rel.tol = 1e-10)$value
  uniroot(function(k) sure(k) - conf, c(0.5, 60), tol = 1e-11)$root
}
for (s in list(c(10, 0.95, 0.95), c(43, 0.90, 0.99), c(20, 0.99, 0.90))) {
  at <- paste(s, collapse = "_")
  say(paste0("one_sided_", at), one(s[1], s[2], s[3]))
  say(paste0("two_sided_", at), two(s[1], s[2], s[3]))
}

# --- sampling by variables, spread unknown: the chance of passing --------------------------------------
for (s in list(c(10, 1.5, 0.02), c(35, 1.68, 0.05)))
  say(paste0("variables_passing_", paste(s, collapse = "_")),
      pt(s[2] * sqrt(s[1]), s[1] - 1, ncp = sqrt(s[1]) * qnorm(1 - s[3]), lower.tail = FALSE))

# --- global risks by one-dimensional quadrature --------------------------------------------------------
overall <- function(half, sd, shift, u, w) {
  bad_in <- function(x) dnorm(x, shift, sd) * (pnorm((half - w - x) / u) - pnorm((-half + w - x) / u))
  good_out <- function(x) dnorm(x, shift, sd) * (pnorm((-half - w - x) / u) + pnorm((half + w - x) / u, lower.tail = FALSE))
  tol <- 1e-12
  c(integrate(bad_in, -Inf, -half, rel.tol = tol)$value + integrate(bad_in, half, Inf, rel.tol = tol)$value,
    integrate(good_out, -half, half, rel.tol = tol)$value)
}
for (s in list(c(6, 3, 0, 1.5, 2.4675), c(6, 2, 2, 2, 4), c(10, 5, -3, 1, 0))) {
  at <- paste(s, collapse = "_"); r <- overall(s[1], s[2], s[3], s[4], s[5])
  say(paste0("wrongly_in_", at), r[1]); say(paste0("wrongly_out_", at), r[2])
}

# --- a person-to-person study: the table from readings.csv by aov, components by lmer (REML) -----------
here <- dirname(sub("--file=", "", grep("--file=", commandArgs(FALSE), value = TRUE)))
d <- read.csv(file.path(here, "readings.csv"), comment.char = "#")
d$piece <- factor(d$piece); d$person <- factor(d$person)
table <- summary(aov(mm ~ piece * person, d))[[1]]
for (row in 1:4) say(paste0("mean_square_", c("piece", "person", "both", "repeat")[row]), table[["Mean Sq"]][row])
suppressMessages(library(lme4))
fit <- lmer(mm ~ 1 + (1 | piece) + (1 | person) + (1 | piece:person), d, REML = TRUE,
            control = lmerControl(optimizer = "bobyqa", optCtrl = list(rhoend = 1e-12)))
parts <- as.data.frame(VarCorr(fit))
for (row in seq_len(nrow(parts))) say(paste0("variance_", sub(":", "_by_", parts$grp[row])), parts$vcov[row])

# --- two figures for the same thing --------------------------------------------------------------------
one_ <- d$mm[d$person == 1 & d$round == 1]; other <- d$mm[d$person == 2 & d$round == 1]
t <- t.test(one_, other, paired = TRUE)
say("paired_low", t$conf.int[1]); say("paired_high", t$conf.int[2]); say("paired_p", t$p.value)
say("equivalence_p_3mm", max(t.test(one_ - other, mu = -3, alternative = "greater")$p.value,
                             t.test(one_ - other, mu = 3, alternative = "less")$p.value))
