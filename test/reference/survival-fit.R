# Independent fits of the data sets in test/fixtures/survival with R's survival package, and with a
# likelihood written out here where that package cannot (left truncation). Prints "name value" lines.
# Usage: Rscript survival-fit.R <folder of the data sets>
suppressPackageStartupMessages(library(survival))
folder <- commandArgs(trailingOnly = TRUE)[1]
read <- function(name) read.csv(file.path(folder, name))
show <- function(name, value) cat(name, formatC(value, digits = 12), "\n")

show_survreg <- function(name, fit) {
  # survreg: log T = intercept + b x + scale * W, so shape = 1/scale and wear coefficients are -b.
  show(paste0(name, ".shape"), 1 / fit$scale)
  show(paste0(name, ".scale"), exp(coef(fit)[1]))
  show(paste0(name, ".logLikelihood"), fit$loglik[2])
  errors <- sqrt(diag(fit$var))
  show(paste0(name, ".seLogScale"), errors[1])
  show(paste0(name, ".seLogShape"), errors[length(errors)])
  for (j in seq_along(coef(fit))[-1]) {
    show(paste0(name, ".", names(coef(fit))[j]), -coef(fit)[j])
    show(paste0(name, ".se.", names(coef(fit))[j]), errors[j])
  }
}

ovarian <- read("ovarian.csv")
lung <- read("lung.csv")
aml <- read("aml.csv")
aml$nonmaintained <- as.integer(aml$x == "Nonmaintained")
bearing <- read("bearing-cage.csv")
cosmesis <- read("breast-cosmesis.csv")
show_survreg("ovarian", survreg(Surv(futime, fustat) ~ 1, ovarian))
show_survreg("ovarian2", survreg(Surv(futime, fustat) ~ ecog.ps + rx, ovarian))
show_survreg("lung", survreg(Surv(time, status) ~ 1, lung))
show_survreg("lungSex", survreg(Surv(time, status) ~ sex, lung))
show_survreg("lung3", survreg(Surv(time, status) ~ ph.ecog + age + sex, lung))
show_survreg("aml", survreg(Surv(time, status) ~ nonmaintained, aml))
show_survreg("bearing", survreg(Surv(hours, failed) ~ 1, bearing, weights = count))
show_survreg("shock", survreg(Surv(km, failed) ~ 1, read("shock-absorber.csv")))
show_survreg("balls", survreg(Surv(megarevolutions, failed) ~ 1, read("ball-bearings.csv")))
cosmesis$lower[cosmesis$lower == 0] <- NA # left censored
show_survreg("cosmesis", survreg(
  Surv(lower, upper, type = "interval2") ~ treat, cosmesis,
  control = survreg.control(rel.tolerance = 1e-12)
))

# Left truncation: the log-likelihood of a Weibull law given alive at entry, maximised by optim.
channing <- read("channing.csv")
channing <- channing[channing$age > channing$ageentry, ]
entry <- channing$ageentry / 12
exit <- channing$age / 12
woman <- channing$gender - 1
minus <- function(p) {
  rate <- exp(p[3] * woman)
  H <- function(t) (t * rate / exp(p[2]))^exp(p[1])
  -sum(channing$death * (p[1] + log(H(exit)) - log(exit)) - H(exit) + H(entry))
}
start <- c(log(10), log(90), 0)
for (i in 1:5) {
  fit <- optim(start, minus, method = "BFGS", control = list(reltol = 1e-15, maxit = 1000, ndeps = rep(1e-5, 3)))
  start <- fit$par
}
hessian <- optimHess(fit$par, minus, control = list(ndeps = rep(1e-4, 3)))
errors <- sqrt(diag(solve(hessian)))
show("channing.shape", exp(fit$par[1]))
show("channing.scale", exp(fit$par[2]))
show("channing.woman", fit$par[3])
show("channing.logLikelihood", -fit$value)
show("channing.seLogShape", errors[1])
show("channing.seLogScale", errors[2])
show("channing.se.woman", errors[3])

# Kaplan-Meier with left truncation, women only, from age 68.
women <- survfit(Surv(entry[woman == 1], exit[woman == 1], channing$death[woman == 1]) ~ 1, start.time = 68)
for (age in c(75, 80, 85, 90)) {
  at <- summary(women, times = age)
  show(paste0("channingWomen.", age), at$surv)
  show(paste0("channingWomen.se.", age), at$std.err)
}
